"""The days on which combinations can work, in pieces that are alike for the model: single days, or spans of a few."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.shed.planning.work import Season

MOST_BY_DAY = 30_000
WEEK = 7
STEPS = (1, 2, 3, WEEK)


@dataclass(frozen=True)
class Piece:
    """Days on which one combination can work on its task, alike for the model.

    Attributes
    ----------
    combination : number of the combination
    span : number of the span of days
    days : how many of them [d]
    rate : hours a whole day is worth, by the day's length and how often it can be worked [h/d]
    late : whether they come after the window
    """

    combination: int
    span: int
    days: float
    rate: float
    late: bool


def spans_of(season: Season, most: int = MOST_BY_DAY) -> tuple[range, ...]:
    """Return the spans of days that the model tells apart: single days while they are few enough, weeks at most."""
    days = len(season.day_h)
    rough = sum(
        min(days, season.tasks[one.task].last + season.late_days + 1) - season.tasks[one.task].first
        for one in season.combinations
    )
    step = next((step for step in STEPS if rough <= most * step), WEEK)
    return tuple(range(first, min(first + step, days)) for first in range(0, days, step))


def pieces_of(season: Season, spans: Sequence[range]) -> list[Piece]:
    """Return the days of every combination by spans, in its task's window and after it."""
    found = []
    span_of = {day: number for number, span in enumerate(spans) for day in span}
    for number, one in enumerate(season.combinations):
        task = season.tasks[one.task]
        summed: dict[tuple[int, bool], list[float]] = {}
        for day in range(task.first, min(task.last + season.late_days, len(season.day_h) - 1) + 1):
            hours = season.hours_on(one.task, day)
            if hours > 0 and season.lent(one, day):
                kept = summed.setdefault((span_of[day], day > task.last), [0.0, 0.0])
                kept[0] += 1.0
                kept[1] += hours
        found += [
            Piece(number, span, count, hours / count, late) for (span, late), (count, hours) in sorted(summed.items())
        ]
    return found
