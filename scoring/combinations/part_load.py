"""How much of a full load a tractor takes: all of it, or what its hitch, axles and brakes bear, but not little."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.asked import asked, asked_at_least, cannot_tell
from evener.scoring.gives.capacity import capacity
from evener.scoring.mechanics.engine import level
from evener.scoring.mechanics.work.held_pace import pace_held

if TYPE_CHECKING:
    from collections.abc import Iterator

    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array
    from evener.scoring.gives.block import Block

STEPS = 5


def parted(task: TaskDemands) -> bool:
    """Return whether a task may be done with part of its load."""
    return any(demand.least_load < 1.0 for demand in task.demands)


def load_taken(task: TaskDemands, block: Block) -> Array:
    """Return the share of its full load that tractors take at a task; (tractors, draws) [1]."""
    share = np.ones((len(block), block.draws.n))
    for demand in task.demands:
        if demand.least_load < 1.0:
            has = capacity(block, demand).values
            known = ~(np.isnan(has).any(axis=1) | cannot_tell(demand, block))
            if not known.any():
                continue
            part, whole = (
                np.broadcast_to(one, (len(block), one.shape[1]))[known]
                for one in (asked_at_least(demand, block), asked(demand, block))
            )
            share[known] = np.minimum(share[known], pace_held(has[known], F=part, D=whole, v_0=demand.least_load))
    return share


def shares(demand: Demand) -> Iterator[float]:
    """Yield the shares of a load to try, from the full one to the least that is worth a journey [1]."""
    yield from np.linspace(1.0, demand.least_load, STEPS).tolist()


def with_share(demand: Demand, share: float) -> Demand:
    """Return a demand as it is with a share of the load.

    Parameters
    ----------
    demand : of a full load, with that of a part one as its floor
    share : of the full load [1]
    """
    if demand.floor is None or demand.least_load >= 1.0:
        return demand
    x = (share - demand.least_load) / (1 - demand.least_load)
    alpha, beta = (
        np.asarray(level.part_way(part, P_1=whole, x=x))
        for part, whole in zip(demand.floor, (demand.alpha, demand.beta), strict=True)
    )
    return replace(demand, alpha=alpha, beta=beta, floor=None, least_load=1.0)
