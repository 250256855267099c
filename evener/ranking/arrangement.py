"""Who does what on the place with the pick: it, a tractor that is there, somebody who is hired, or nobody."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.ranking.size_named import Size, size_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import Tractor
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import TaskCost, YearlyCost
    from evener.scoring.money.yearly_work import YearlyTask

PICK, THERE, HIRED, NOBODY, CLAIMED = "pick", "there", "hired", "nobody", "claimed"
LISTED, MAY_BE_HIRED, PLANNED, NOT_NAMED = "listed", "may be hired", "planned", "not named"

MOSTLY = 0.5


@dataclass(frozen=True)
class Arranged:
    """One task of the place, and who does it.

    Attributes
    ----------
    task : its name
    kind : listed, may be hired, planned, or not named
    by : who does it in most of the draws in which it comes: pick, there, hired, nobody where nobody is hired for such
        work, or claimed, by a tractor that is there and whose figures are not known
    who : the pick's id, or the name of the tractor that is there; None where it is hired or not done
    share : of those draws in which it is done so; None where it is claimed
    hours : that the pick works at it in a year [h]
    a_year : what it costs in a year so, on the mean of all draws; None where it is claimed, or not done
    from_size : where it is hired or not done, the smallest class that does it in most draws; None where none does
    """

    task: str
    kind: str
    by: str
    who: str | None
    share: float | None
    hours: float
    a_year: float | None
    from_size: Size | None = None


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
    without = HIRED if task.for_hire else NOBODY
    shares = {PICK: spent.taken, THERE: spent.by_there, without: 1.0 - spent.taken - spent.by_there}
    by = max(shares, key=lambda name: shares[name])
    who = {PICK: pick.valued.tractor.tractor_id, THERE: decision.takes.get(task.name)}.get(by)
    cost = {PICK: spent.running, THERE: spent.there, NOBODY: None}.get(by, spent.hired)
    smallest = smallest_for(decision, [task.name]) if by == without else None
    named = None if smallest is None else size_of(smallest)
    return Arranged(task.name, kind(decision, task.name), by, who, shares[by], spent.hours, cost, named)


def smallest_for(decision: Decision, tasks: Sequence[str], share: float = MOSTLY) -> Tractor | None:
    """Return the smallest class that may be picked and does each of some tasks in over a share of draws, or None."""
    able = [one for one in decision.classes if one.pto_power_kw and decision.eligible(one)]
    comes = {task.name: task.comes for task in decision.work.tasks}
    for one, done in sorted(zip(able, decision.ways(able), strict=True), key=lambda each: each[0].pto_power_kw or 0.0):
        if all(done[name].does[comes[name]].mean() > share for name in tasks if comes[name].any()):
            return one
    return None
