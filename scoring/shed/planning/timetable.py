"""Days for a plan whose combinations are chosen: which task is worked on which day, and what of it comes late.

Where the model told single days apart its own days stand. Where it told weeks apart, and always to have the days of a
task together, the days are sought anew with the combinations held: least left over, then as the rule has it, then each
task as early as can be, those whose window closes first before the others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.shed.planning.model import Model, Solution

if TYPE_CHECKING:
    from evener.scoring.shed.planning.work import Season

LEFT = 1e-4
OF_COMBINATIONS = frozenset({"undone", "km", "order"})


@dataclass(frozen=True)
class Day:
    """One task on one day: the hours of work on it, and whether that is after its window."""

    day: int
    hours: float
    late: bool


@dataclass(frozen=True)
class Planned:
    """One task of a plan.

    Attributes
    ----------
    task : number of the task
    combination : number of its combination, or None where it is left undone
    days : its days, in order
    left_h : hours that found no day [h]
    """

    task: int
    combination: int | None
    days: tuple[Day, ...]
    left_h: float

    @property
    def late_days(self) -> int:
        """How many days after its window it is still worked on."""
        return sum(1 for day in self.days if day.late)


def timetable(
    season: Season,
    solution: Solution,
    levels: Sequence[str] = ("late",),
    *,
    by_hours: bool = False,
    turn: Sequence[str] = (),
) -> tuple[Planned, ...]:
    """Return the days of each task.

    Parameters
    ----------
    season : the work
    solution : the plan, by days or by weeks
    levels : what matters, in order
    by_hours, turn : as the model took them
    """
    chosen = [one for one in solution.chosen if one is not None]
    fixed = season.with_combinations(season.combinations[number] for number in sorted(chosen))
    number_of = {season.combinations[number].task: number for number in chosen}
    days_each = [range(day, day + 1) for day in range(len(season.day_h))]
    model = Model(fixed, days_each, by_hours=by_hours, turn=turn, parts=True, of=season)
    of_days = [level for level in levels if level not in OF_COMBINATIONS]
    found = model.solve(("left", *of_days, "early"), must=sorted(number_of))
    days: dict[int, list[Day]] = {}
    for index, hours in sorted(found.hours.items() if found is not None else ()):
        piece = model.pieces[index]
        if hours > LEFT:
            task = fixed.combinations[piece.combination].task
            days.setdefault(task, []).append(Day(model.spans[piece.span].start, round(hours, 4), piece.late))
    return tuple(_planned(season, task, number_of.get(task), days.get(task, [])) for task in range(len(season.tasks)))


def _planned(season: Season, task: int, number: int | None, days: Sequence[Day]) -> Planned:
    if number is None:
        return Planned(task, None, (), 0.0)
    left = season.combinations[number].hours - sum(day.hours for day in days)
    return Planned(
        task, number, tuple(sorted(days, key=lambda day: day.day)), round(left, 3) if left > 10 * LEFT else 0.0
    )
