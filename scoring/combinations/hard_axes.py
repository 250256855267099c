"""What must never fail: axles with a machine raised, level and on the task's usual slope, and permitted axle loads.

They are held in nine of ten draws of what nobody can answer (mass, reach, centre of mass), whatever the confidence,
with a usual set of weights fitted and, where a load can be parted, the least of it that is worth a journey. A tractor
that fails is refused for the task; where the customer can still say how large the machine or its load is, for those
answers with which it fails. Steeper than usual is no refusal but a limit to print: how steep he drives is the
customer's to decide.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.as_told import surely
from evener.scoring.combinations.asked import asked
from evener.scoring.combinations.part_load import with_share
from evener.scoring.gives.stance import AXLES, stand
from evener.scoring.mechanics.stance import balance, on_slope
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place.terms import Raised

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.gives.block import Block
    from evener.scoring.gives.stance import Stance

HARD = frozenset({"front_axle", "rear_axle"})
SURE = 0.90
LIMITS = ("front_axle_max_kg", "rear_axle_max_kg", "max_mass_kg")


def stand_up(demand: Demand, block: Block, level: Mask) -> Mask:
    """Return where tractors keep their stance and their permitted loads on a task; shape (tractors, draws or 1).

    Parameters
    ----------
    demand : what a raised machine asks of an axle
    block : the tractors
    level : the draws in which they do on the level; shape (tractors, draws or 1)
    """
    sure = _surely(demand, level)
    demand = with_share(demand, demand.least_load)
    known = sure.any(axis=1) & np.logical_and.reduce([block.take(name).known for name in AXLES])
    if not known.any() or not isinstance(demand.terms, Raised):
        return sure
    some = block.part(known)
    try:
        uphill = _surely(demand, uphill_limit(demand, some) >= demand.terms.usual)
        holds = permitted(demand, some) & uphill
    except OutOfRange:
        # The checks of one tractor say what could not be worked out; it is no reason to refuse it.
        return sure
    both = np.array(np.broadcast_to(sure, (len(block), max(sure.shape[1], holds.shape[1]))))
    both[known] &= holds
    return both


def uphill_limit(demand: Demand, block: Block) -> Array:
    """Return the slope up to which the front axle keeps its least share, weights fitted [1]; (tractors, draws).

    Without bound for a machine in front, which holds the front axle down.
    """
    terms = demand.terms
    if not isinstance(terms, Raised) or not terms.rear:
        return np.full((len(block), 1), np.inf)
    stance, allowance = stand(block, terms.setting), terms.setting.allowance
    weights = stance.mass_kg * allowance("front_weights")
    moment = asked(demand, block) - weights * (stance.weights_ahead_m + stance.base_m)
    limit = on_slope.steepest_uphill(
        stance.front_kg,
        T_L=stance.mass_kg,
        h=stance.centre_m,
        M=moment,
        G=demand.beta,
        h_G=stance.centre_m * allowance("raised_centre"),
        b=stance.base_m,
        k=allowance("front_axle_least", "steepest"),
    )
    return np.asarray(limit)


def permitted(demand: Demand, block: Block) -> Mask:
    """Return where tractors stay within the loads that their records permit; a limit nobody states bounds nothing."""
    limits = [block.tractors.stated(name)[block.rows][:, None] for name in LIMITS]
    if all(np.isnan(limit).all() for limit in limits):
        return np.ones((len(block), 1), bool)
    within = [
        ~(load > limit) for load, limit in zip(raised_loads(demand, stand_of(demand, block)), limits, strict=True)
    ]
    return _surely(demand, np.logical_and.reduce(np.broadcast_arrays(*within)))


def raised_loads(demand: Demand, stance: Stance) -> tuple[Array, Array, Array]:
    """Return front, rear and whole load with the machine raised and the weights that takes, draws [kg]."""
    reach, full = demand.alpha / demand.beta, demand.beta
    c, b, nothing = stance.behind_m, stance.base_m, np.zeros_like(full)
    own = {"T_L": stance.mass_kg, "T_V": stance.front_kg, "T_H": stance.rear_kg, "b": b, "c": c}
    if isinstance(demand.terms, Raised) and demand.terms.rear:
        ahead = stance.weights_ahead_m
        weights = np.asarray(
            balance.front_ballast(full, T_L=stance.mass_kg, T_V=stance.front_kg, a=ahead, b=b, c=c, d=reach)
        )
        loads = balance.axle_loads(**own, G_V=weights, G_H=full, a=ahead, d=reach)
    else:
        loads = balance.axle_loads(**own, G_V=full, G_H=nothing, a=stance.ahead_m + reach, d=nothing)
    return np.asarray(loads.front), np.asarray(loads.rear), np.asarray(loads.total)


def stand_of(demand: Demand, block: Block) -> Stance:
    """Return how tractors stand at a raised machine."""
    if not isinstance(demand.terms, Raised):
        raise TypeError(f"{demand.axis} is asked by no raised machine")
    return stand(block, demand.terms.setting)


def told_of(demand: Demand) -> Array | None:
    """Return what the customer can tell of the load that a hard axis bears; None where nothing of it is open."""
    return demand.terms.told if isinstance(demand.terms, Raised) else None


def _surely(demand: Demand, holds: Mask) -> Mask:
    return surely(holds, told_of(demand), SURE)
