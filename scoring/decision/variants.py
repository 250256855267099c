"""The decision with something about the work settled: hired out, come in a year, done here, done by another machine."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.tasks import demands_of
from evener.scoring.core.otherwise import changed_tasks
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.doing import ways
from evener.scoring.mechanics.work import yearly_cost

if TYPE_CHECKING:
    from collections.abc import Mapping

    from evener.schema.records import JobSheet, Tractor
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.yearly_work import Done, YearlyTask


def if_hired(decision: Decision, task: str) -> Decision:
    """Return the decision with one task worth no more than its hire."""
    return _changed(decision, {one.name: replace(one, listed=False) for one in decision.work.tasks if one.name == task})


def if_in_year(decision: Decision, task: str, year: int) -> Decision:
    """Return the decision with a plan that comes, where it comes, in this year of the calendar."""
    terms = decision.terms
    share = float(yearly_cost.share_of_years(max(1.0, year - terms["year_zero"] + 1), N=terms["years"]))
    return _changed(
        decision,
        {one.name: replace(one, years=share) for one in decision.work.tasks if one.name == task},
    )


def if_done_here(decision: Decision, task: str) -> Decision:
    """Return the decision with work that nobody named listed for this tractor."""
    whole = np.ones(decision.sizing.setting.draws.n, bool)
    return _changed(
        decision,
        {
            one.name: replace(one, comes=whole, years=1.0, listed=True, gap=False)
            for one in decision.work.tasks
            if one.name == task
        },
    )


def if_asking(decision: Decision, job: JobSheet) -> Decision | None:
    """Return the decision with the machines of another sheet of the same place; None where one cannot be sized.

    How much work there is stays, and so does what tractors there take.
    """
    setting = decision.sizing.setting
    anew = Setting(job, setting.library, setting.draws)
    try:
        demands = {task.name: demands_of(anew, task) for task in changed_tasks(setting.job, job)[0]}
    except CannotSize:
        return None
    amounts = {task.name: task.amounts for task in decision.work.tasks}
    tractors = decision.worked_out
    changed = ways(
        list(demands.values()), amounts, tractors, decision.classes, draws=setting.draws, terms=decision.terms
    )
    work = replace(decision.work, demands=tuple(demands.get(one.task, one) for one in decision.work.demands))
    known: dict[str, tuple[Tractor, Mapping[str, Done]]] = {
        one.tractor_id: (one, {**before, **after})
        for one, before, after in zip(tractors, decision.ways(tractors), changed, strict=True)
    }
    return replace(decision, _known=known).reckoned_with(work, decision.terms)


def _changed(decision: Decision, tasks: dict[str, YearlyTask]) -> Decision:
    work = replace(decision.work, tasks=tuple(tasks.get(one.name, one) for one in decision.work.tasks))
    return decision.reckoned_with(work, decision.terms)
