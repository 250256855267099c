"""The smallest set of windows that cannot all be kept, and by how many hours.

A set of tasks clashes when no plan does all of them within their windows. The smallest is sought from both sides: of
every largest set that can be kept, a clashing set must hold a task it leaves out; so the least set that holds one task
of each is tried, and either it clashes, and is the smallest, or it grows to another largest set that can be kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from evener.scoring.shed.planning.model import Model
from evener.scoring.shed.planning.pieces import spans_of

if TYPE_CHECKING:
    from evener.scoring.shed.planning.work import Season

TRIES = 60
MOST_TASKS = 40


@dataclass(frozen=True)
class Clash:
    """Windows that cannot all be kept.

    Attributes
    ----------
    tasks : numbers of the tasks
    short_h : hours of their work that find no day within their windows, at the least [h]
    smallest : whether no smaller set of the season clashes; else no task of it can be spared
    things : what they contend for, as (kind, number)
    """

    tasks: tuple[int, ...]
    short_h: float
    smallest: bool
    things: tuple[tuple[str, int], ...] = ()


def clash(season: Season, missed: Sequence[int]) -> Clash | None:
    """Return the smallest set of windows that clash, or None where all can be kept.

    Parameters
    ----------
    season : the work
    missed : tasks that a plan leaves late or undone; the search is among what they share tractors or machines with
    """
    strict = replace(season, late_days=0)
    able = {one.task for one in season.combinations}
    asked = [task for task in missed if task in able]
    if not asked:
        return None
    near = _near(season, asked)
    pool = near if len(near) <= MOST_TASKS else sorted(set(asked))[:MOST_TASKS]
    if _kept(strict, pool) == set(pool):
        if pool == near:
            return None
        pool = near
    found, smallest = _smallest(strict, pool)
    return Clash(tuple(found), _short(strict, found), smallest, _things(season, found))


def _near(season: Season, asked: Sequence[int]) -> list[int]:
    """Return the tasks that lead to one of those asked by things that they share, of tasks that can be done at all."""
    uses: dict[int, set[tuple[str, object]]] = {}
    for one in season.combinations:
        of = uses.setdefault(one.task, set())
        of.add(("tractor", one.tractor))
        if one.machine is not None:
            of.add(("machine", one.machine))
        owner = season.driver_of(one.tractor)
        if owner is not None:
            of.add(("drivers", owner))
    reached, things = set(asked), set().union(*(uses[task] for task in asked))
    while True:
        more = {task for task, of in uses.items() if task not in reached and of & things}
        if not more:
            return sorted(reached)
        reached |= more
        things |= set().union(*(uses[task] for task in more))


def _kept(season: Season, tasks: Sequence[int], must: Sequence[int] = ()) -> set[int] | None:
    """Return a largest set of tasks that can be kept together, holding those that must be; None where those clash."""
    kept = season.only(tasks)
    model = Model(kept, spans_of(kept))
    numbers = sorted(set(tasks))
    found = model.solve(("undone",), must=[numbers.index(task) for task in must])
    if found is None:
        return None
    return {numbers[place] for place, one in enumerate(found.chosen) if one is not None}


def _smallest(season: Season, pool: Sequence[int]) -> tuple[list[int], bool]:
    """Return the smallest clashing set among tasks that clash, and whether it is proven."""
    left_out: list[set[int]] = []
    for _ in range(TRIES):
        tried = _hitting(left_out)
        kept = _kept(season, pool, tried)
        if kept is None:
            return sorted(tried), True
        left_out.append(set(pool) - kept)
    return _spared(season, pool), False


def _hitting(sets: Sequence[set[int]]) -> list[int]:
    """Return a least set that holds one of each; of several, the one with the earliest tasks."""
    if not sets:
        return []
    tasks = sorted(set().union(*sets))
    rows = np.array([[float(task in one) for task in tasks] for one in sets])
    cost = 1.0 + np.arange(len(tasks)) / (1 + len(tasks)) ** 2
    found = milp(
        cost,
        integrality=np.ones(len(tasks)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(rows, 1, np.inf),
        options={"mip_rel_gap": 0.0},
    )
    return [task for task, taken in zip(tasks, found.x, strict=True) if taken > 0.5]


def _spared(season: Season, pool: Sequence[int]) -> list[int]:
    """Return a clashing set of which no task can be spared."""
    clashing = list(pool)
    for task in list(pool):
        fewer = [one for one in clashing if one != task]
        if fewer and _kept(season, fewer) != set(fewer):
            clashing = fewer
    return sorted(clashing)


def _short(season: Season, tasks: Sequence[int]) -> float:
    """Return the least hours of these tasks that find no day within their windows."""
    only = season.only(tasks)
    model = Model(only, spans_of(only), parts=True)
    found = model.solve(("left",), must=range(len(only.tasks)))
    return round(found.levels[0].value, 2) if found is not None else 0.0


def _things(season: Season, tasks: Sequence[int]) -> tuple[tuple[str, int], ...]:
    """Return the tractors and machines that each of these tasks can turn to."""
    of = [
        {("tractor", one.tractor) for one in season.combinations if one.task == task}
        | {("machine", one.machine) for one in season.combinations if one.task == task and one.machine is not None}
        for task in tasks
    ]
    return tuple(sorted(set.intersection(*of))) if of else ()
