"""What plans do to the pick, and how long the work takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.combinations.work_time import work
from evener.scoring.decision import plans as scored
from evener.scoring.decision.what_if import WhatIf

if TYPE_CHECKING:
    from collections.abc import Collection

    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.questions.choosing import ByCost


@dataclass(frozen=True)
class Plan:
    """One plan: its chance and year, the pick if it alone comes, and whether that is another pick."""

    task: str
    chance: float
    year: int | None
    pick_if_so: str | None
    makes_the_difference: bool


@dataclass(frozen=True)
class Plans:
    """The pick without any plan, and with all of them come true."""

    pick_without: str | None
    pick_with: str | None
    differ: bool
    plans: tuple[Plan, ...]


@dataclass(frozen=True)
class Measured:
    """A value with its unit."""

    unit: str
    middle: float


@dataclass(frozen=True)
class TaskTime:
    """How long one task takes.

    Attributes
    ----------
    task : its name
    rate, bales_per_hour : how fast it goes
    hours, hours_a_year : each time, and in a year
    hours_a_day : hours of work in a day [h]
    days_needed, days_there : days it takes as surely as asked, and days there are
    fits, chance : whether it fits them as surely as asked, and how surely it does
    width_needed, speed_needed : what would make it fit
    """

    task: str
    rate: Measured | None
    bales_per_hour: float | None
    hours: Measured | None
    hours_a_year: Measured | None
    hours_a_day: float
    days_needed: float
    days_there: float | None
    fits: bool | None
    chance: float | None
    width_needed: Measured | None
    speed_needed: Measured | None


MEASURED = ("rate", "hours", "hours_a_year", "width_needed", "speed_needed")


def plans(sizing: Sizing, scores: list[Score]) -> Plans | None:
    """Return what plans do to the pick among tractors in their order, or None where nothing is planned."""
    if not any(task.planned for task in sizing.setting.job.tasks):
        return None
    found = scored.plans(WhatIf(sizing, scores))
    return None if found is None else Plans(**{**found, "plans": tuple(Plan(**one) for one in found["plans"])})


def plans_by_cost(picks: ByCost) -> Plans | None:
    """Return what plans do to the pick by cost, or None where nothing is planned."""
    decision = picks.cheapest.decision
    known = {task.name for task in decision.work.tasks}
    planned = [task for task in decision.sizing.setting.job.tasks if task.planned and task.name in known]
    if not planned:
        return None
    names, tractors = [task.name for task in planned], [one.valued.tractor for one in picks.cheapest.found]

    def pick(come: Collection[str]) -> str | None:
        least = decision.if_so({name: name in come for name in names}).least(tractors)
        return None if least is None else least.tractor_id

    without, with_all = pick(()), pick(names)
    alone = [(task, pick((task.name,))) for task in planned]
    return Plans(
        pick_without=without,
        pick_with=with_all,
        differ=without != with_all,
        plans=tuple(Plan(task.name, task.chance, task.year, found, found != without) for task, found in alone),
    )


def task_times(sizing: Sizing) -> tuple[TaskTime, ...]:
    """Return how long each task takes, where that can be told."""
    return tuple(
        TaskTime(**{**one, **{name: None if one[name] is None else Measured(**one[name]) for name in MEASURED}})
        for one in work(sizing.setting, [one.task for one in sizing.tasks], sizing.confidence)
    )
