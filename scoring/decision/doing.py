"""Which tractors do which tasks in which draws, and how much of their power that takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.held_speed import held_pace
from evener.scoring.combinations.outcomes import ratio, task_outcome
from evener.scoring.combinations.part_load import load_taken, parted
from evener.scoring.decision.adapters import adapters_a_year
from evener.scoring.gives.block import blocks
from evener.scoring.gives.tractors import Tractors
from evener.scoring.mechanics.work.yearly_cost import hours_when_slower
from evener.scoring.money.yearly_work import Done

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Array, Draws
    from evener.scoring.gives.block import Block
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
    found: list[dict[str, Done]] = [{} for _ in tractors]
    for block in blocks(Tractors.of(tractors, classes), draws):
        for row, way in zip(block.rows, ways_of(block, tasks, amounts, terms), strict=True):
            found[row] = way
    return found


def ways_of(
    block: Block, tasks: Sequence[TaskDemands], amounts: Mapping[str, Amounts], terms: Terms
) -> list[dict[str, Done]]:
    """Return how each tractor of a block does each task, as `ways` does."""
    found: list[dict[str, Done]] = [{} for _ in block.rows]
    for task in tasks:
        met, loads, held = task_outcome(task, block).met, _loads(task, block, terms), held_pace(task, block)
        held = held * load_taken(task, block) if parted(task) else held
        usual = amounts[task.task].hours
        slows = parted(task) or any(demand.least_pace < 1.0 for demand in task.demands)
        adapters = adapters_a_year(task, block, terms)
        for place, way in enumerate(found):
            hours = np.asarray(hours_when_slower(usual, v=held[place])) if slows else usual
            way[task.task] = Done(met[place], hours, loads[place], adapters[place])
    return found


def _loads(task: TaskDemands, block: Block, terms: Terms) -> Array:
    """Return the share of its power that a task takes; a usual part of it where it takes none at the PTO or by pull."""
    loads = np.full((len(block), block.draws.n), np.nan)
    for demand in task.demands:
        if demand.axis in DRIVING:
            np.fmax(loads, ratio(demand, block), out=loads)
    return np.asarray(np.clip(np.where(np.isnan(loads), terms["part_load"], loads), 0.0, 1.0))
