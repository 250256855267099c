"""Which tractors do which tasks in which draws, and how much of their power that takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations import margins
from evener.scoring.gives.capacities import offer
from evener.scoring.money.yearly_work import Done

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Array, Draws
    from evener.scoring.gives.capacities import Offer
    from evener.scoring.money.hiring import Amounts
    from evener.scoring.money.terms import Terms

DRIVING = ("pto_power", "drawbar_pull")


def ways(
    tasks: Sequence[TaskDemands],
    amounts: Mapping[str, Amounts],
    tractors: Sequence[Tractor],
    classes: Sequence[Tractor],
    *,
    draws: Draws,
    terms: Terms,
) -> list[dict[str, Done]]:
    """Return how each tractor does each task, were it to come for sure.

    Parameters
    ----------
    tasks : what they ask
    amounts : how much there is of each
    tractors : who does them
    classes : what stands in for what a record does not state
    draws, terms : the shared draws, and the terms
    """
    sure = [replace(task, chance=1.0) for task in tasks]
    offers = [offer(one, classes, draws) for one in tractors]
    return [
        {
            task.task: Done(
                does=margins.outcome([task], one, draws).met,
                hours=amounts[task.task].hours,
                load=_load(task, one, terms, draws),
            )
            for task in sure
        }
        for one in offers
    ]


def _load(task: TaskDemands, one: Offer, terms: Terms, draws: Draws) -> Array:
    """Return the share of its power that a task takes; a usual part of it where it takes none at the PTO or by pull."""
    found = [
        margins.asked_of(each, one) / has
        for each in task.demands
        if each.axis in DRIVING and (has := one.on(each).draws) is not None
    ]
    if not found:
        return np.full(draws.n, terms["part_load"])
    return np.asarray(np.clip(np.max(found, axis=0), 0.0, 1.0))
