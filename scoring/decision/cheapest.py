"""The choice that costs least: each tractor's expected yearly cost over the shared draws, with what is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.tasks import demands_of
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.trace import Trace
from evener.scoring.decision.amounts import amounts
from evener.scoring.decision.doing import ways
from evener.scoring.mechanics.work import yearly_cost as formulas
from evener.scoring.money import costs, hiring
from evener.scoring.money.prices import SPARING, priced
from evener.scoring.money.terms import Terms, terms
from evener.scoring.money.yearly_work import YearlyTask, running

if TYPE_CHECKING:
    from evener.schema.records import Task, Tractor
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.money.costs import Reckoning, YearlyCost
    from evener.scoring.money.yearly_work import Done

SPARING_SLOPE = 0.06
NEEDS_ALL_WHEELS = ("snow", "handling")


@dataclass(frozen=True)
class Work:
    """All that is reckoned with on a place: the tasks of the sheet and the gaps of it.

    Attributes
    ----------
    tasks : with their money
    demands : what each asks, in the same order
    unsaid : names of those whose hours are taken and not known
    """

    tasks: tuple[YearlyTask, ...]
    demands: tuple[TaskDemands, ...]
    unsaid: tuple[str, ...]


@dataclass(frozen=True)
class Decision:
    """A job with money: what each tractor costs in a year.

    Attributes
    ----------
    sizing : the job
    work : what is reckoned with
    reckoned : what every tractor is reckoned by
    terms : the terms
    classes : what stands in for what a record does not state
    """

    sizing: Sizing
    work: Work
    reckoned: Reckoning
    terms: Terms
    classes: tuple[Tractor, ...]

    def cost(self, tractors: Sequence[Tractor], terms: Terms | None = None) -> list[YearlyCost]:
        """Return what tractors cost in a year, the least expected first; a tractor of unknown power is left out.

        Parameters
        ----------
        tractors : records of any kind
        terms : other terms than the job's
        """
        setting, taken = self.sizing.setting, terms or self.terms
        able = [one for one in tractors if one.pto_power_kw]
        by_name = {task.name: task.amounts for task in self.work.tasks}
        done = ways(self.work.demands, by_name, able, self.classes, draws=setting.draws, terms=taken)
        reckoned = self.reckoned if terms is None else replace(self.reckoned, terms=terms)
        found = [
            costs.yearly_cost(priced(one, setting.library, setting.job.money, taken), way, reckoned)
            for one, way in zip(able, done, strict=True)
        ]
        return sorted(found, key=_place)

    def eligible(self, tractor: Tractor) -> bool:
        """Tell whether a tractor may be the pick: one driven by two wheels only on easy ground without pushing."""
        return tractor.drive not in SPARING or all_wheels_not_needed(self.sizing.setting)

    def pick(self, found: Sequence[YearlyCost]) -> YearlyCost | None:
        """Return the choice that costs least among those that may be picked."""
        return next((one for one in found if self.eligible(one.valued.tractor)), None)


def decide(
    sizing: Sizing,
    classes: Sequence[Tractor],
    *,
    gaps: Sequence[tuple[Task, float]] = (),
    put_back: Sequence[str] = (),
    there: Sequence[Tractor] = (),
) -> Decision:
    """Return the decision of a job.

    Parameters
    ----------
    sizing : the job
    classes : the generic classes: what work left undone is measured by
    gaps : work that nobody named, each with the chance that there is such work
    put_back : tasks that a tractor there was said to take and does not do
    there : tractors that are there, as far as their figures are known

    Raises
    ------
    NoMoney
        The sheet's currency is not the tables', and what theirs is worth is not said.
    """
    setting = sizing.setting
    taken = terms(setting.job.money, setting.library)
    work = _work(sizing, gaps, put_back, taken)
    by_name = {task.name: task.amounts for task in work.tasks}
    known = [one for one in classes if one.pto_power_kw]
    done = ways(work.demands, by_name, known, classes, draws=setting.draws, terms=taken)
    fleet = [priced(one, setting.library, setting.job.money, taken) for one in known]
    others = _there(work, there, classes, setting, taken)
    reckoned = costs.reckoning(work.tasks, fleet, done, others, taken, setting.library)
    return Decision(sizing, work, reckoned, taken, tuple(classes))


def all_wheels_not_needed(setting: Setting) -> bool:
    """Tell whether the ground is easy and no work listed pushes or lifts in front, so that two driven wheels may do."""
    job = setting.job
    slopes = [job.place.slope, *(task.slope for task in job.tasks if task.slope is not None)]
    easy = all(one.middle is not None and one.middle < SPARING_SLOPE for one in slopes)
    groups = {setting.family(task).group for task in job.tasks}
    return easy and not groups & set(NEEDS_ALL_WHEELS)


def _work(sizing: Sizing, gaps: Sequence[tuple[Task, float]], put_back: Sequence[str], taken: Terms) -> Work:
    setting = sizing.setting
    by_name = {task.name: task for task in setting.job.tasks}
    asked: list[tuple[Task, TaskDemands, float | None]] = [(by_name[one.task], one, None) for one in sizing.tasks]
    more: list[tuple[Task, float | None]] = [(by_name[name], None) for name in put_back if name in by_name]
    more += [(task, chance * taken["gap_weight"]) for task, chance in gaps if task.name not in by_name]
    asked += [(task, found, chance) for task, chance in more if (found := _demands(setting, task)) is not None]
    tasks, unsaid = [], []
    for task, demands, chance in asked:
        one, known = _yearly(setting, task, chance, taken)
        tasks.append(one)
        if not known:
            unsaid.append(demands.task)
    return Work(tuple(tasks), tuple(demands for _, demands, _ in asked), tuple(unsaid))


def _demands(setting: Setting, task: Task) -> TaskDemands | None:
    try:
        return demands_of(setting, task)
    except CannotSize:
        return None


def _yearly(setting: Setting, task: Task, gap: float | None, taken: Terms) -> tuple[YearlyTask, bool]:
    """Return a task with its money, and whether its hours are known."""
    much, known = amounts(setting, task, taken)
    charged = hiring.rate(task.family, much, setting.library, setting.job.money, taken)
    hired = hiring.hire(charged, much, taken, setting.trace())
    sure = gap is None and not task.planned
    years = 1.0 if sure else _years(task, gap, taken)
    comes = np.ones(setting.draws.n, bool) if sure else _comes(setting, task, gap) & (years > 0)
    listed = sure and not task.hire
    return YearlyTask(task.name, much, charged, hired, comes, years, listed), known


def _comes(setting: Setting, task: Task, gap: float | None) -> Mask:
    return setting.draws.happens(f"task/{task.name}/happens", task.chance if gap is None else gap)


def _years(task: Task, gap: float | None, taken: Terms) -> float:
    """Return the share of the years held in which a plan is there; work nobody named is there from the first."""
    if gap is not None:
        return 1.0
    first = taken["plan_year"] if task.year is None else max(1.0, task.year - taken["year_zero"] + 1)
    return float(formulas.share_of_years(first, N=taken["years"]))


def _there(
    work: Work, there: Sequence[Tractor], classes: Sequence[Tractor], setting: Setting, taken: Terms
) -> Mapping[str, Array]:
    """Return by task what the cheapest tractor that is there takes; infinite where none does it."""
    least = {task.name: np.full(setting.draws.n, np.inf) for task in work.tasks}
    known = [one for one in there if one.pto_power_kw]
    by_name = {task.name: task.amounts for task in work.tasks}
    done: list[dict[str, Done]] = ways(work.demands, by_name, known, classes, draws=setting.draws, terms=taken)
    silent = Trace(on=False)
    for one, way in zip(known, done, strict=True):
        for name, how in way.items():
            spent = np.where(how.does, running(how, one.pto_power_kw or 0.0, taken, silent), np.inf)
            least[name] = np.minimum(least[name], spent)
    return least


def _place(one: YearlyCost) -> tuple[float, float, str]:
    tractor = one.valued.tractor
    return one.expected, tractor.pto_power_kw or 0.0, tractor.tractor_id
