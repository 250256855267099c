"""Who does what on the place with the pick: it, a tractor that is there, or somebody who is hired, at what a year."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import TaskCost, YearlyCost
    from evener.scoring.money.yearly_work import YearlyTask

PICK, THERE, HIRED, CLAIMED = "pick", "there", "hired", "claimed"
LISTED, MAY_BE_HIRED, PLANNED, NOT_NAMED = "listed", "may be hired", "planned", "not named"


@dataclass(frozen=True)
class Arranged:
    """One task of the place, and who does it.

    Attributes
    ----------
    task : its name
    kind : listed, may be hired, planned, or not named
    by : who does it in most of the draws in which it comes: pick, there, hired, or claimed, by a tractor that is there
        and whose figures are not known
    who : the pick's id, or the name of the tractor that is there; None where it is hired
    share : of those draws in which it is done so; None where it is claimed
    hours : that the pick works at it in a year [h]
    a_year : what it costs in a year so, on the mean of all draws; None where it is claimed
    """

    task: str
    kind: str
    by: str
    who: str | None
    share: float | None
    hours: float
    a_year: float | None


def arrangement(decision: Decision, pick: YearlyCost) -> tuple[Arranged, ...]:
    """Return who does what with a tractor: every task has somebody, so that there always is a plan.

    Parameters
    ----------
    decision : the job with its money
    pick : what the tractor costs
    """
    job = decision.sizing.setting.job
    found = [_row(decision, pick, task, spent) for task, spent in zip(decision.work.tasks, pick.tasks, strict=True)]
    known = {one.task for one in found}
    found += [
        Arranged(name, kind(decision, name), CLAIMED, machine.label, None, 0.0, None)
        for machine in job.machines
        for name in machine.takes
        if name in decision.sizing.owned and name not in known
    ]
    return tuple(found)


def kind(decision: Decision, name: str) -> str:
    """Return whether a task is listed, may be hired, is planned, or nobody named it."""
    task = next((one for one in decision.sizing.setting.job.tasks if one.name == name), None)
    if task is None:
        return NOT_NAMED
    return PLANNED if task.planned else MAY_BE_HIRED if task.hire else LISTED


def _row(decision: Decision, pick: YearlyCost, task: YearlyTask, spent: TaskCost) -> Arranged:
    shares = {PICK: spent.taken, THERE: spent.by_there, HIRED: 1.0 - spent.taken - spent.by_there}
    by = max(shares, key=lambda name: shares[name])
    who = {PICK: pick.valued.tractor.tractor_id, THERE: decision.takes.get(task.name)}.get(by)
    cost = {PICK: spent.running, THERE: spent.there}.get(by, spent.hired)
    return Arranged(task.name, kind(decision, task.name), by, who, shares[by], spent.hours, cost)
