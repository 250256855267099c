"""A tractor with machines narrower than wished: what that costs in hours and in money."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.ranking.costed import SURE
from evener.ranking.plans import Measured
from evener.scoring.decision.narrower import narrower
from evener.scoring.place.called import called

if TYPE_CHECKING:
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost


@dataclass(frozen=True)
class NarrowerMachine:
    """One machine taken narrower than wished: by how much, and the hours in a year that it takes more."""

    task: str
    machine: str
    wished: Measured
    width: Measured
    hours_more: float


@dataclass(frozen=True)
class WithNarrower:
    """A tractor with machines narrower than wished.

    Attributes
    ----------
    tractor_id, pto_power, unit : the tractor
    machines : those that are narrower
    a_year : expected yearly cost with them
    does_all : share of draws in which all that comes is done
    """

    tractor_id: str
    pto_power: float | None
    unit: str
    machines: tuple[NarrowerMachine, ...]
    a_year: float
    does_all: float


def with_narrower(decision: Decision, tractors: tuple[YearlyCost | None, ...]) -> tuple[WithNarrower, ...]:
    """Return those tractors that do more of the work with narrower machines.

    Parameters
    ----------
    decision : the job with its money
    tractors : what they cost with the machines as wished
    """
    setting, found = decision.sizing.setting, []
    label = {task.name: called(setting.family(task), task) for task in setting.job.tasks}
    for one in tractors:
        other = None if one is None else narrower(decision, one, least_missed=1 - SURE)
        if one is None or other is None:
            continue
        machines = tuple(
            NarrowerMachine(
                each.task, label[each.task], Measured("m", each.wished_m), Measured("m", each.width_m), each.hours
            )
            for each in other.machines
        )
        tractor = one.valued.tractor
        found.append(
            WithNarrower(
                tractor.tractor_id, tractor.pto_power_kw, "kW", machines, other.cost.expected, other.cost.does_all
            )
        )
    return tuple(found)
