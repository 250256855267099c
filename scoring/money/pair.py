"""What two tractors cost a place in a year together, each task done by the one that does it for less."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.draws import share
from evener.scoring.core.trace import Trace
from evener.scoring.money.owning import ownership, repair
from evener.scoring.money.spending import Spent, spent
from evener.scoring.money.undone import undone
from evener.scoring.money.yearly_work import running

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.money.costs import Reckoning
    from evener.scoring.money.prices import Valued
    from evener.scoring.money.yearly_work import Done, YearlyTask


@dataclass(frozen=True)
class PairTask:
    """Who takes one task, in shares of the draws in which it comes.

    Attributes
    ----------
    task : its name
    first, second : done by the one and by the other [1]
    there : by a tractor that is there [1]
    hired : hired, because that costs less than doing it [1]
    missed : done by none of them, and hired or left undone [1]
    a_year : what doing or hiring it costs [money/yr]
    """

    task: str
    first: float
    second: float
    there: float
    hired: float
    missed: float
    a_year: float


@dataclass(frozen=True)
class PairCost:
    """What two tractors cost together.

    Attributes
    ----------
    valued : both with their prices
    ownership, repair : of each [money/yr]
    hours : that each works [h/yr]
    tasks : who takes what
    machines, beyond, changed : as of one tractor [money/yr]
    does_all : share of draws in which all that is named is done [1]
    expected : all of it, the mean over the draws [money/yr]
    """

    valued: tuple[Valued, Valued]
    ownership: tuple[float, float]
    repair: tuple[float, float]
    hours: tuple[float, float]
    tasks: tuple[PairTask, ...]
    machines: float
    beyond: float
    changed: float
    does_all: float
    expected: float


def least_ownership(one: Valued, reckoned: Reckoning) -> float:
    """Return what a tractor that never works costs to own: no pair with it costs less [money/yr]."""
    return ownership(one, 0.0, reckoned.library, reckoned.terms, Trace(on=False))


def pair_cost(
    one: tuple[Valued, Mapping[str, Done]], other: tuple[Valued, Mapping[str, Done]], reckoned: Reckoning
) -> PairCost:
    """Return what two tractors cost together.

    Two drivers at once, and what a season saves by that, are not reckoned.

    Parameters
    ----------
    one, other : the tractors with how each does each task
    reckoned : what every tractor of the job is reckoned by
    """
    silent, terms = Trace(on=False), reckoned.terms
    taken = [_taken(task, one, other, reckoned) for task in reckoned.tasks]
    missed = {task.name: each.missed for task, each in zip(reckoned.tasks, taken, strict=True)}
    hours = [float(sum(each.hours[at].mean() for each in taken)) for at in (0, 1)]
    idle = float(sum((each.missed * one[1][each.task.name].hours * each.task.weight).mean() for each in taken))
    # Going without wears no value back: what neither does is reckoned with the first, as with one tractor alone.
    owned = tuple(
        ownership(each[0], worked, reckoned.library, terms, silent)
        for each, worked in zip((one, other), (hours[0] + idle, hours[1]), strict=True)
    )
    usual = tuple(
        ownership(each[0], worked, reckoned.library, terms.of_worth, silent)
        for each, worked in zip((one, other), (hours[0] + idle, hours[1]), strict=True)
    )
    mended = tuple(
        repair(each[0], worked, reckoned.library, terms, silent)
        for each, worked in zip((one, other), hours, strict=True)
    )
    dearer = max((0, 1), key=lambda at: owned[at])
    left = undone(
        reckoned.tasks,
        missed,
        price=(one, other)[dearer][0].price.amount,
        owned=owned[dearer],
        usual=usual[dearer],
        references=reckoned.references,
        terms=terms,
    )
    total = sum((each.spent.total for each in taken), left.total) + sum(owned) + sum(mended)
    named = [each.missed for each in taken if not each.task.gap]
    return PairCost(
        valued=(one[0], other[0]),
        ownership=(owned[0], owned[1]),
        repair=(mended[0], mended[1]),
        hours=(hours[0], hours[1]),
        tasks=tuple(each.shares(left.hired[each.task.name]) for each in taken),
        machines=float(sum(each.spent.machine.mean() for each in taken)),
        beyond=float(left.beyond.mean()),
        changed=float(left.changed.mean()),
        does_all=1.0 - share(np.logical_or.reduce(named)) if named else 1.0,
        expected=float(np.mean(total)),
    )


@dataclass(frozen=True)
class _Taken:
    """One task with two tractors, draw by draw."""

    task: YearlyTask
    spent: Spent
    by: tuple[Mask, Mask]
    missed: Mask
    hours: tuple[Array, Array]

    def shares(self, hired: Array) -> PairTask:
        """Return who takes it, on the mean, with what is hired where none does it."""
        comes = self.task.comes
        first, second = (share(each[comes]) if comes.any() else 0.0 for each in self.by)
        by_hire, there, missed = (
            share(each[comes]) if comes.any() else 0.0
            for each in (self.spent.hired > 0, (self.spent.there > 0) & ~self.by[1], self.missed)
        )
        each_year = self.spent.total - self.spent.machine + hired
        return PairTask(self.task.name, first, second, there, by_hire, missed, float(each_year.mean()))


def _taken(
    task: YearlyTask,
    one: tuple[Valued, Mapping[str, Done]],
    other: tuple[Valued, Mapping[str, Done]],
    reckoned: Reckoning,
) -> _Taken:
    silent = Trace(on=False)
    ways = [done[task.name] for _, done in (one, other)]
    first, second = (
        running(way, valued.tractor.pto_power_kw or 0.0, reckoned.terms, silent)
        for way, (valued, _) in zip(ways, (one, other), strict=True)
    )
    there = reckoned.there[task.name]
    beside = np.minimum(np.where(ways[1].does, second, np.inf), there)
    money = spent(task, ways[0], first, beside, one[0].tractor.pto_power_kw or 0.0)
    by_second = (money.there > 0) & ways[1].does & (second <= there)
    return _Taken(
        task,
        money,
        (money.own > 0, by_second),
        task.comes & ~ways[0].does & ~np.isfinite(beside),
        (money.hours, np.where(by_second, ways[1].hours, 0.0) * task.weight),
    )
