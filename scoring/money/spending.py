"""Who does a task for less, draw by draw: the tractor, another, or somebody who is hired; and what that takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Trace
from evener.scoring.money.yearly_work import litres_an_hour

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.money.yearly_work import Done, YearlyTask


@dataclass(frozen=True)
class Spent:
    """What one task takes, draw by draw, where it is not left undone.

    Attributes
    ----------
    by_own, by_other : draws in which the tractor, or another, would do it
    own, there, hired : done by the tractor, by another, or hired [money/yr]
    machine : its share of a machine still to be bought [money/yr]
    hours, litres : that the tractor works at it and burns, in a year [h/yr], [L/yr]
    """

    by_own: Mask
    by_other: Mask
    own: Array
    there: Array
    hired: Array
    machine: Array
    hours: Array
    litres: Array

    @property
    def total(self) -> Array:
        """All of it [money/yr]."""
        return np.asarray(self.own + self.there + self.hired + self.machine)


def spent(task: YearlyTask, way: Done, own: Array, other: Array, kw: float) -> Spent:
    """Return what a task takes, done by the cheaper tractor; hired where that costs less than doing what may be.

    A plan, and what may be hired, is done only where that costs less than its hire, its machine counted in.

    Parameters
    ----------
    task : the work
    way : how the tractor does it
    own, other : what it and the cheapest other tractor take for it; the other infinite where none does [money/yr]
    kw : the tractor's power at the PTO [kW]
    """
    by_own = way.does & (own <= other)
    by_other = ~by_own & np.isfinite(other)
    hired = machine = np.zeros(by_own.size)
    if task.for_hire and not task.listed:
        hire = (by_own | by_other) & (np.where(by_own, own, other) + task.machine > task.hire)
        hired = np.where(hire, task.hire, 0.0) * task.weight
        by_own, by_other = by_own & ~hire, by_other & ~hire
    if task.machine:
        machine = np.where(by_own | by_other, task.machine, 0.0) * task.weight
    hours = np.where(by_own, way.hours, 0.0) * task.weight
    return Spent(
        by_own=by_own,
        by_other=by_other,
        own=np.where(by_own, own, 0.0) * task.weight,
        there=np.where(by_other, other, 0.0) * task.weight,
        hired=hired,
        machine=machine,
        hours=hours,
        litres=hours * litres_an_hour(way, kw, Trace(on=False)),
    )
