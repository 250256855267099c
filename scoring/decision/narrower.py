"""A narrower machine for work that a tractor does not do at the width wished, priced as what is done instead."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.records import Quantity
from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations.work_time import day
from evener.scoring.core.draws import share
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.amounts import amounts
from evener.scoring.decision.buying import wanted
from evener.scoring.decision.doing import ways
from evener.scoring.money import costs
from evener.scoring.money.machines import Bought, bought, goes_by, price_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.money.hiring import Amounts
    from evener.scoring.money.yearly_work import Done

WIDTH = "working_width_m"
ENOUGH = 0.9
NARROWEST = 0.5
STEP = 0.93
MOST_TRIED = 6


@dataclass(frozen=True)
class Narrowed:
    """One machine taken narrower than wished.

    Attributes
    ----------
    task : the work
    wished_m, width_m : widths
    hours : more than with the width wished, in a year [h/yr]
    """

    task: str
    wished_m: float
    width_m: float
    hours: float


@dataclass(frozen=True)
class Instead:
    """A tractor with machines narrower than wished.

    Attributes
    ----------
    machines : those that are narrower
    cost : what the tractor costs with them: their own ownership and longer hours in the place of the wider ones'
    """

    machines: tuple[Narrowed, ...]
    cost: YearlyCost


@dataclass(frozen=True)
class _Tried:
    task: Task
    width_m: float
    amounts: Amounts
    done: Done


def narrower(decision: Decision, one: YearlyCost, *, least_missed: float) -> Instead | None:
    """Return a tractor with the widest machines that it runs, for work it does not do as wished; None where none helps.

    Only machines that are still to be chosen and that are wished by their width are taken narrower: to half the width
    at the most, in widths that records have, and only where the days there are suffice.

    Parameters
    ----------
    decision : the job with its money
    one : what the tractor costs with the machines as wished
    least_missed : work done in more of the draws than this leaves over stays as wished [1]
    """
    by_name = {task.name: task for task in decision.sizing.setting.job.tasks}
    failing = [each.task for each in one.tasks if each.missed > least_missed and each.task in by_name]
    found = [tried for name in failing if (tried := _widest(decision, one, by_name[name])) is not None]
    if not found:
        return None
    hours = {each.task.name: _more(decision, each) for each in found}
    money = _with(decision, one, found)
    if money.does_all <= one.does_all:
        return None
    wished = decision.sizing.setting
    return Instead(
        tuple(
            Narrowed(
                each.task.name, wanted(wished, by_name[each.task.name]).size or 0.0, each.width_m, hours[each.task.name]
            )
            for each in found
        ),
        money,
    )


def _widest(decision: Decision, one: YearlyCost, task: Task) -> _Tried | None:
    """Return the widest machine with which a tractor does a task in enough of the draws."""
    setting = decision.sizing.setting
    if task.have or task.implement_id or goes_by(task.family, setting.library) != WIDTH or task.width_m is None:
        return None
    for width in _widths(setting, task):
        said = Quantity(width, width, "exact", f"{width:.2f} m")
        narrow = replace(task, width_m=said)
        job = replace(setting.job, tasks=tuple(narrow if each is task else each for each in setting.job.tasks))
        anew = Setting(job, setting.library, setting.draws)
        try:
            demands = demands_of(anew, narrow)
        except CannotSize:
            return None
        much, _ = amounts(anew, narrow, decision.terms)
        if not _in_time(anew, narrow, much):
            return None
        done = _done(decision, one, demands, {task.name: much})
        if share(done.does) >= ENOUGH:
            return _Tried(narrow, width, much, done)
    return None


def _widths(setting: Setting, task: Task) -> Iterator[float]:
    wished = wanted(setting, task).size
    last, tried = wished or 0.0, 0
    for width in sorted({each.working_width_m or 0.0 for each in setting.peers(task)}, reverse=True):
        if wished is not None and NARROWEST * wished <= width <= STEP * last and tried < MOST_TRIED:
            last, tried = width, tried + 1
            yield width


def _in_time(setting: Setting, task: Task, much: Amounts) -> bool:
    """Tell whether the days that are said suffice, by their middle."""
    if task.days is None or task.days.middle is None or much.days is None:
        return True
    each = np.median(much.hours) / max(task.times_per_year, 1.0)
    return float(each) <= task.days.middle * float(np.median(day(setting)))


def _done(decision: Decision, one: YearlyCost, demands: TaskDemands, much: Mapping[str, Amounts]) -> Done:
    tractor, draws = one.valued.tractor, decision.sizing.setting.draws
    return ways([demands], much, [tractor], decision.classes, draws=draws, terms=decision.terms)[0][demands.task]


def _more(decision: Decision, tried: _Tried) -> float:
    wide = next(each for each in decision.work.tasks if each.name == tried.task.name)
    return float(np.mean((tried.amounts.hours - wide.amounts.hours) * wide.weight))


def _with(decision: Decision, one: YearlyCost, found: list[_Tried]) -> YearlyCost:
    """Return what the tractor costs with the narrower machines."""
    by_task = {each.task.name: each for each in found}
    machines = [_machine(decision, each, by_task) for each in decision.work.machines]
    share_of = {name: each.a_year / len(each.tasks) for each in machines for name in each.tasks}
    tasks = tuple(
        replace(
            each,
            amounts=by_task[each.name].amounts if each.name in by_task else each.amounts,
            machine=share_of.get(each.name, each.machine),
        )
        for each in decision.work.tasks
    )
    way = {**decision.ways([one.valued.tractor])[0], **{name: each.done for name, each in by_task.items()}}
    return costs.yearly_cost(one.valued, way, replace(decision.reckoned, tasks=tasks))


def _machine(decision: Decision, wide: Bought, by_task: Mapping[str, _Tried]) -> Bought:
    """Return a machine as narrow as the narrowest of its tasks asks."""
    tried = min((by_task[name] for name in wide.tasks if name in by_task), key=lambda each: each.width_m, default=None)
    setting = decision.sizing.setting
    if tried is None:
        return wide
    what = replace(wide.wanted, size=tried.width_m)
    price = price_of(what, setting.library, setting.job.money, decision.terms, wished=wide.wanted)
    hours = {
        each.name: float((each.amounts.hours * each.weight).mean())
        for each in decision.work.tasks
        if each.name in wide.tasks
    }
    hours |= {name: float(by_task[name].amounts.hours.mean()) for name in hours if name in by_task}
    return wide if price is None else bought(wide.name, what, hours, price, setting.library, decision.terms)
