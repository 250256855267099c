"""The expected yearly cost of a tractor on a place, over the shared draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.draws import quantile, share
from evener.scoring.core.trace import Trace
from evener.scoring.money import references as of_classes
from evener.scoring.money.owning import ownership, repair
from evener.scoring.money.spending import spent
from evener.scoring.money.undone import undone
from evener.scoring.money.yearly_work import running

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Library
    from evener.scoring.money.prices import Valued
    from evener.scoring.money.references import References
    from evener.scoring.money.spending import Spent
    from evener.scoring.money.terms import Terms
    from evener.scoring.money.yearly_work import Done, YearlyTask

WORST = 0.95


@dataclass(frozen=True)
class TaskCost:
    """One task with one tractor, on the mean over the draws.

    Attributes
    ----------
    task : its name
    does : share of the draws in which it comes that the tractor does it by itself [1]
    missed : share of the draws in which it comes that neither it nor a tractor that is there does it [1]
    taken, by_there : shares of those draws in which it, or a tractor that is there, is the one that does it [1]
    hours : what the tractor works at it in a year [h/yr]
    litres : what it burns at it in a year [L/yr]
    running : fuel, oil and driver [money/yr]
    there : what a tractor that is there takes for it instead [money/yr]
    hired : what is hired of it [money/yr]
    machine : its share of a machine still to be bought for it [money/yr]
    """

    task: str
    does: float
    missed: float
    taken: float
    by_there: float
    hours: float
    litres: float
    running: float
    there: float
    hired: float
    machine: float


@dataclass(frozen=True)
class YearlyCost:
    """What one tractor costs in a year.

    Attributes
    ----------
    valued : the tractor with its price
    ownership, repair : of the tractor [money/yr]
    tasks : task by task
    beyond : what listed work left undone is worth beyond its hire [money/yr]
    changed : changes of size [money/yr]
    expected : all of it, the mean over the draws [money/yr]
    worst : what 95 % of the draws do not exceed [money/yr]
    does_all : share of draws in which all that is named is done by it or by a tractor that is there [1]
    if_comes, if_not : by task that is not sure to come, the mean where it does and where it does not [money/yr]
    total : all of it, draw by draw [money/yr]
    """

    valued: Valued
    ownership: float
    repair: float
    tasks: tuple[TaskCost, ...]
    beyond: float
    changed: float
    expected: float
    worst: float
    does_all: float
    if_comes: Mapping[str, float]
    if_not: Mapping[str, float]
    total: Array = field(repr=False, compare=False)

    @property
    def running(self) -> float:
        """Fuel, oil and driver of all tasks [money/yr]."""
        return sum(one.running + one.there for one in self.tasks)

    @property
    def hired(self) -> float:
        """All that is hired [money/yr]."""
        return sum(one.hired for one in self.tasks)

    @property
    def machines(self) -> float:
        """Ownership and repair of machines still to be bought [money/yr]."""
        return sum(one.machine for one in self.tasks)


@dataclass(frozen=True)
class Reckoning:
    """A place's work with what it is measured by: the same for every tractor.

    Attributes
    ----------
    tasks : the work
    there : by task, the least that a tractor which is there takes; infinite where none does it [money/yr]
    references : what classes offer
    terms, library : the terms and the tables
    """

    tasks: tuple[YearlyTask, ...]
    there: Mapping[str, Array]
    references: References
    terms: Terms
    library: Library

    @property
    def hire_all(self) -> float:
        """What it costs to buy nothing: tractors there do what they do, what is for hire is hired [money/yr]."""
        return float(sum((self._without(task) * task.weight).mean() for task in self.tasks))

    def _without(self, task: YearlyTask) -> Array:
        there = self.there[task.name] + task.machine
        return np.minimum(there, task.hire) if task.for_hire else np.where(np.isfinite(there), there, 0.0)


def reckoning(
    tasks: Sequence[YearlyTask],
    classes: Sequence[Valued],
    done: Sequence[Mapping[str, Done]],
    there: Mapping[str, Array],
    terms: Terms,
    library: Library,
) -> Reckoning:
    """Return what every tractor of a job is reckoned by.

    Parameters
    ----------
    tasks : the work
    classes : the generic classes with their prices
    done : of each class, how it does each task
    there : by task, what the cheapest tractor that is there takes; infinite where none does it [money/yr]
    terms, library : the terms and the tables
    """
    silent = Trace(on=False)
    owned, usual = (
        [
            ownership(one, hours_of(tasks, ways, there), library, over, silent)
            for one, ways in zip(classes, done, strict=True)
        ]
        for over in (terms, terms.of_worth)
    )
    does = {task.name: [ways[task.name].does for ways in done] for task in tasks}
    takes = {
        task.name: [
            running(ways[task.name], one.tractor.pto_power_kw or 0.0, terms, silent) + task.machine
            for one, ways in zip(classes, done, strict=True)
        ]
        for task in tasks
        if not task.listed
    }
    found = of_classes.references(tasks, np.array(owned), np.array(usual), does, takes, there)
    return Reckoning(tuple(tasks), there, found, terms, library)


def hours_of(tasks: Sequence[YearlyTask], done: Mapping[str, Done], there: Mapping[str, Array]) -> float:
    """Return the mean hours in a year of all that no tractor there does, at the speed this one holds [h/yr]."""
    left = (np.where(np.isfinite(there[one.name]), 0.0, one.weight) * done[one.name].hours for one in tasks)
    return float(sum(each.mean() for each in left))


def yearly_cost(one: Valued, done: Mapping[str, Done], reckoned: Reckoning, trace: Trace | None = None) -> YearlyCost:
    """Return what one tractor costs in a year.

    Parameters
    ----------
    one : the tractor with its price
    done : how it does each task
    reckoned : what it is reckoned by
    trace : where steps are to be written
    """
    trace = trace or Trace(on=False)
    tasks, terms = reckoned.tasks, reckoned.terms
    hours = hours_of(tasks, done, reckoned.there)
    owned = ownership(one, hours, reckoned.library, terms, trace)
    usual = ownership(one, hours, reckoned.library, terms.of_worth, Trace(on=False))
    total = np.full(reckoned.references.of_all.shape, owned)
    missed: dict[str, Mask] = {}
    of_tasks: dict[str, Spent] = {}
    for task in tasks:
        way, other = done[task.name], reckoned.there[task.name]
        own = running(way, one.tractor.pto_power_kw or 0.0, terms, trace, task.name)
        taken = of_tasks[task.name] = spent(task, way, own, other, one.tractor.pto_power_kw or 0.0)
        missed[task.name] = task.comes & ~way.does & ~np.isfinite(other)
        total = total + taken.total
    worked = float(sum(each.hours.mean() for each in of_tasks.values()))
    repaired = repair(one, worked, reckoned.library, terms, trace)
    price = one.price.amount
    left = undone(tasks, missed, price=price, owned=owned, usual=usual, references=reckoned.references, terms=terms)
    total = total + left.total + repaired
    open_tasks = [task for task in tasks if 0 < np.count_nonzero(task.comes) < task.comes.size]
    return YearlyCost(
        valued=one,
        ownership=owned,
        repair=repaired,
        tasks=tuple(
            _task_cost(task, done[task.name], missed[task.name], of_tasks[task.name], left.hired[task.name])
            for task in tasks
        ),
        beyond=float(left.beyond.mean()),
        changed=float(left.changed.mean()),
        expected=float(total.mean()),
        worst=quantile(total, WORST),
        does_all=1.0 - share(np.logical_or.reduce([missed[task.name] for task in tasks if not task.gap])),
        if_comes={task.name: float(total[task.comes].mean()) for task in open_tasks},
        if_not={task.name: float(total[~task.comes].mean()) for task in open_tasks},
        total=total,
    )


def _task_cost(task: YearlyTask, way: Done, missed: Mask, taken: Spent, hired: Array) -> TaskCost:
    comes = task.comes.any()
    return TaskCost(
        task=task.name,
        does=share(way.does[task.comes]) if comes else 1.0,
        missed=share(missed[task.comes]) if comes else 0.0,
        taken=share(taken.by_own[task.comes]) if comes else float(taken.by_own.mean()),
        by_there=share(taken.by_other[task.comes]) if comes else float(taken.by_other.mean()),
        hours=float(taken.hours.mean()),
        litres=float(taken.litres.mean()),
        running=float(taken.own.mean()),
        there=float(taken.there.mean()),
        hired=float((taken.hired + hired).mean()),
        machine=float(taken.machine.mean()),
    )
