"""What an axle keeps of the tractor's weight with a machine raised on the other side, a usual set of weights fitted.

Balance is asked and offered as moments, which nobody weighs; a share of the weight is what a manual asks for, and
what a scale under one axle shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from evener.scoring.combinations.hard_axes import stand_of
from evener.scoring.core.draws import quantile
from evener.scoring.mechanics.stance import balance
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place.terms import Raised

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.gives.block import Block


class AxleShare(NamedTuple):
    """A share of the unladen mass on the axle that a raised machine lightens.

    Attributes
    ----------
    kept : what it carries, at the level [1]
    least : what it has to carry [1]
    weights : at the other end, that it takes to carry that [kg]
    """

    kept: float
    least: float
    weights: float


def axle_share(demand: Demand, block: Block, comes: Mask, level: float) -> AxleShare | None:
    """Return what the axle keeps at least in `level` of the draws in which the task comes; None at other demands.

    Parameters
    ----------
    demand : what a raised machine asks of an axle
    block : one tractor
    comes : the draws in which the task comes
    level : how surely it keeps that
    """
    if not isinstance(demand.terms, Raised):
        return None
    try:
        kept, needed = (np.broadcast_to(one[0], comes.shape) for one in _with_weights(demand, demand.terms, block))
    except OutOfRange:
        return None
    if np.isnan(kept).any():
        return None
    least = balance.FRONT_LEAST if demand.terms.rear else balance.REAR_LEAST
    counted = comes if comes.any() else np.ones_like(comes)
    return AxleShare(quantile(kept[counted], 1 - level), least, quantile(needed[counted], level))


def _with_weights(demand: Demand, terms: Raised, block: Block) -> tuple[Array, Array]:
    """Return the share that the axle keeps with a usual set of weights, and the weights that it has to have."""
    stance, allowance = stand_of(demand, block), terms.setting.allowance
    reach, full, nothing = demand.alpha / demand.beta, demand.beta, np.zeros_like(demand.beta)
    own = {"T_L": stance.mass_kg, "T_V": stance.front_kg, "T_H": stance.rear_kg, "b": stance.base_m}
    own["c"] = stance.behind_m
    if terms.rear:
        usual, ahead = stance.mass_kg * allowance("front_weights"), stance.weights_ahead_m
        load = balance.axle_loads(**own, G_V=usual, G_H=full, a=ahead, d=reach).front
        del own["T_H"]
        needed = balance.front_ballast(full, **own, a=ahead, d=reach)
    else:
        usual, ahead = stance.mass_kg * allowance("rear_weights"), stance.ahead_m + reach
        behind = np.maximum(stance.weights_behind_m - stance.behind_m, nothing)
        load = balance.axle_loads(**own, G_V=full, G_H=usual, a=ahead, d=behind).rear
        del own["T_V"]
        needed = balance.rear_ballast(full, **own, a=ahead, d=behind)
    return np.asarray(balance.axle_share(load, T_L=stance.mass_kg)), np.asarray(needed)
