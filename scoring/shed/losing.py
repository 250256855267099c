"""What fails without a tractor or a machine: never that it is redundant, but which tasks hang on it, and how often."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.scoring.shed.cells import Cell


@dataclass(frozen=True)
class Loss:
    """What fails without one thing.

    Attributes
    ----------
    kind, number : tractor or machine, and which
    tasks : numbers of the tasks that only it covers, at the confidence asked
    hours : hours a season of those [h]
    seasons : share of the seasons in which some task is left without it that has something with it [1]
    tasks_then, hours_then : tasks and hours that are left then, on average [1], [h]
    """

    kind: str
    number: int
    tasks: tuple[int, ...]
    hours: float
    seasons: float
    tasks_then: float
    hours_then: float


def losses(
    cells: Sequence[Cell], met: Mapping[int, NDArray[np.bool_]], times: Mapping[int, int], *, kind: str, count: int
) -> tuple[Loss, ...]:
    """Return what fails without each tractor, or each machine.

    Parameters
    ----------
    cells : every combination
    met : by place in `cells`, the draws in which it does its task
    times : how often each task is done in the season
    kind : tractor or machine
    count : how many there are of it
    """
    by_task: dict[int, list[int]] = {}
    for place, cell in enumerate(cells):
        by_task.setdefault(cell.task, []).append(place)
    draws = len(next(iter(met.values()))) if met else 1
    left = np.zeros((count, draws))
    left_h = np.zeros((count, draws))
    hang: dict[int, list[int]] = {}
    hours = {task: _hours(cells, places) * times.get(task, 1) for task, places in by_task.items()}
    for task, places in by_task.items():
        with_it: dict[int | None, NDArray[np.bool_]] = {}
        for place in places:
            thing = getattr(cells[place], kind)
            if place in met:
                before = with_it.get(thing)
                with_it[thing] = met[place] if before is None else before | met[place]
        many = sum((found.astype(int) for found in with_it.values()), np.zeros(draws, int))
        for thing, found in with_it.items():
            if thing is not None:
                alone = found & (many == 1)
                left[thing] += alone
                left_h[thing] += alone * hours[task]
        sure = {getattr(cells[place], kind) for place in places if cells[place].covers}
        if len(sure) == 1 and None not in sure:
            hang.setdefault(next(iter(sure)), []).append(task)
    found_losses = []
    for number in range(count):
        fails = left[number] > 0
        found_losses.append(
            Loss(
                kind,
                number,
                tuple(hang.get(number, ())),
                round(sum(hours[task] for task in hang.get(number, ())), 4),
                round(float(fails.mean()), 4),
                round(float(left[number][fails].mean()), 4) if fails.any() else 0.0,
                round(float(left_h[number][fails].mean()), 4) if fails.any() else 0.0,
            )
        )
    return tuple(found_losses)


def _hours(cells: Sequence[Cell], places: Sequence[int]) -> float:
    hours = [cells[place].hours for place in places]
    return min((one for one in hours if one is not None), default=0.0)
