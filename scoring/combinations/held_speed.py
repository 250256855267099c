"""The speed a combination holds: the usual one, or less where that asks too much, down to the least useful one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.asked import asked, asked_at_least, cannot_tell
from evener.scoring.gives.capacity import capacity
from evener.scoring.mechanics.work.held_pace import pace_held

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array
    from evener.scoring.gives.block import Block


def held_pace(task: TaskDemands, block: Block) -> Array:
    """Return the speed that tractors hold on a task over the usual one; (tractors, draws) [1].

    Where a tractor does not do the task it is the least useful one; where nothing slows the work it is 1.
    """
    pace = np.ones((len(block), block.draws.n))
    for demand in task.demands:
        if demand.floor is not None and demand.least_pace < 1.0:
            np.minimum(pace, _held(demand, block), out=pace)
    return pace


def _held(demand: Demand, block: Block) -> Array:
    has = capacity(block, demand).values
    known = ~(np.isnan(has[:, 0]) | cannot_tell(demand, block))
    floor, whole = asked_at_least(demand, block), asked(demand, block)
    rows = np.flatnonzero(known)
    held = np.full((len(block), block.draws.n), demand.least_pace)
    if rows.size:
        of_each = [one if len(one) == 1 else one[rows] for one in (floor, whole)]
        held[rows] = pace_held(has[rows], F=of_each[0], D=np.maximum(*of_each), v_0=demand.least_pace)
    return held
