"""A demand: one thing a task asks of a tractor on one axis, as draws, with its steps."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.estimate import Estimate
    from evener.scoring.core.terms import Terms
    from evener.scoring.core.trace import Step

UNITS = {
    "pto_power": "kW",
    "drawbar_pull": "kN",
    "rear_lift": "kg",
    "front_axle": "kg m",
    "rear_axle": "kg m",
    "loader_lift": "kg",
    "loader_height": "m",
    "hydraulic_flow": "L/min",
    "tow_mass": "kg",
}
AXES = tuple(UNITS)
GATES = ("hitch_category", "pto_speed", "remotes", "drive")


@dataclass(frozen=True)
class Demand:
    """What one task asks on one continuous axis: `alpha + beta * x`, x being one property of the tractor.

    What slowing down can take off lies above a floor, which has to be met: a tractor does the work where its capacity
    reaches the floor, and holds the usual speed where it reaches the whole.

    Attributes
    ----------
    task, axis : where it belongs
    alpha : draws at the usual speed, in the axis's unit
    beta : draws at the usual speed, in the axis's unit per unit of x
    depends : x: "mass_kg", "link_per_m" (bend of the hitch's lift with reach), "lever_m" (hitch from axle), or None
    basis : rated, fitted, computed, carried, pulled, towed or listed
    steps : how it came about, in the middle case
    estimates : for PTO power, all estimates that stand side by side
    notes : what a reader should know of it
    terms : on what terms the capacity is offered, where it is no column of the record
    floor : alpha and beta of what has to be met even at the least useful speed; the whole where slowing does not help
    least_pace : the least useful speed over the usual one [1]
    least_load : the least share of the load that is worth a journey, where the floor is that of a part load [1]
    """

    task: str
    axis: str
    alpha: Array
    beta: Array
    depends: str | None
    basis: str
    steps: tuple[Step, ...]
    estimates: tuple[Estimate, ...] = ()
    notes: tuple[str, ...] = ()
    terms: Terms | None = None
    floor: tuple[Array, Array] | None = None
    least_pace: float = 1.0
    least_load: float = 1.0

    @property
    def unit(self) -> str:
        """SI unit of the axis."""
        return UNITS[self.axis]

    def at(self, x: float) -> Array:
        """Return the draws asked of a tractor with this property, in the axis's unit."""
        return self.alpha if self.depends is None else self.alpha + self.beta * x

    @property
    def least(self) -> tuple[Array, Array]:
        """Alpha and beta of what has to be met: the floor, else the whole."""
        return (self.alpha, self.beta) if self.floor is None else self.floor


@dataclass(frozen=True)
class Gate:
    """What one task asks that is met or not, never by a margin.

    Attributes
    ----------
    asked : words to print, for example "category 2 to 3" or "540 rpm"
    accepts : the values that meet it; for numbers, the least one
    """

    task: str
    axis: str
    asked: str
    accepts: tuple[str, ...] = ()
    least: int | None = None


@dataclass(frozen=True)
class TaskDemands:
    """Everything one task asks.

    Attributes
    ----------
    chance : that the task comes at all: below 1 for a plan
    trade_kw : size of tractor the trade puts before such a machine, where the record gives one [kW]
    """

    task: str
    chance: float
    demands: tuple[Demand, ...]
    gates: tuple[Gate, ...]
    cautions: tuple[str, ...]
    trade_kw: float | None = None
    notes: tuple[str, ...] = field(default=())


def nothing(n: int) -> Array:
    """Return n zeros: the beta of a demand that no tractor property changes."""
    return np.zeros(n)
