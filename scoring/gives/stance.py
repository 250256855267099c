"""How a tractor stands, and the moment about one axle that the other can give up with a usual set of weights."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import step
from evener.scoring.gives.known import Known
from evener.scoring.gives.rows import where_known
from evener.scoring.mechanics.stance import balance

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace
    from evener.scoring.gives.block import Block
    from evener.scoring.place.terms import Raised

AXLES = ("mass_kg", "front_mass_share", "wheelbase_m")
LEAST_KG_M = 1e-6


@dataclass(frozen=True, eq=False)
class Stance:
    """What balance asks to know of tractors; every array of shape (tractors, draws).

    Attributes
    ----------
    mass_kg, front_kg, rear_kg : unladen mass and axle loads [kg]
    base_m : wheelbase [m]
    behind_m : lower hitch points behind the rear axle [m]
    ahead_m : front hitch ahead of the front axle [m]
    weights_ahead_m, weights_behind_m : centre of front weights ahead of the front axle, of rear ones behind it [m]
    assumed : whether some of it was taken from the class; shape (tractors,)
    """

    mass_kg: Array
    front_kg: Array
    rear_kg: Array
    base_m: Array
    behind_m: Array
    ahead_m: Array
    weights_ahead_m: Array
    weights_behind_m: Array
    assumed: Mask


def stand(block: Block, setting: Setting) -> Stance:
    """Return how tractors stand; NaN where mass, front share or wheelbase are not known."""
    return block.work_out("stand", lambda: _stand(block, setting))


def _stand(block: Block, setting: Setting) -> Stance:
    mass, share, base = (block.take(name) for name in AXLES)
    diameter = block.take("rear_tyre_diameter_m")
    allowance = setting.allowance
    by_tyre = diameter.values / 2 + allowance("hitch_behind_tyre")
    by_base = base.values * allowance("hitch_behind_axle")
    behind = np.where(diameter.known[:, None], by_tyre, by_base)
    return Stance(
        mass_kg=mass.values,
        front_kg=mass.values * share.values,
        rear_kg=mass.values * (1 - share.values),
        base_m=base.values,
        behind_m=behind,
        ahead_m=base.values * allowance("front_hitch_ahead"),
        weights_ahead_m=base.values * allowance("front_weights_ahead"),
        weights_behind_m=behind + allowance("rear_weights_behind"),
        assumed=mass.assumed | share.assumed | base.assumed | diameter.assumed,
    )


def lever(block: Block, terms: Raised) -> Array:
    """Return how far the hitch is from the axle that carries the machine; NaN where that is not known [m]."""
    stance = stand(block, terms.setting)
    known = ~np.isnan(stance.mass_kg * stance.front_kg)
    return np.where(known, stance.behind_m if terms.rear else stance.ahead_m, np.nan)


def moment_to_spare(block: Block, terms: Raised, trace: Trace) -> Known:
    """Return the moment tractors can give up, a usual set of weights fitted [kg m]."""

    def of(some: Block) -> Known:
        stance = stand(some, terms.setting)
        moment = _front(stance, terms, trace) if terms.rear else _behind(stance, terms, trace)
        return Known(np.maximum(moment, LEAST_KG_M), stance.assumed)

    return where_known(block, AXLES, of)


def _front(stance: Stance, terms: Raised, trace: Trace) -> Array:
    spare = trace.call(balance.front_moment_to_spare)
    own = np.asarray(spare(stance.front_kg, T_L=stance.mass_kg, b=stance.base_m))
    weights = stance.mass_kg * terms.setting.allowance("front_weights")
    return _with_weights("front", own, weights, stance.weights_ahead_m + stance.base_m, trace)


def _behind(stance: Stance, terms: Raised, trace: Trace) -> Array:
    spare = trace.call(balance.rear_moment_to_spare)
    own = np.asarray(spare(stance.rear_kg, T_L=stance.mass_kg, b=stance.base_m))
    weights = stance.mass_kg * terms.setting.allowance("rear_weights")
    return _with_weights("rear", own, weights, stance.weights_behind_m + stance.base_m, trace)


def _with_weights(where: str, own: Array, weights: Array, arm: Array, trace: Trace) -> Array:
    moment = own + weights * arm
    if trace.on:
        formula = f"with a usual set of {where} weights: own + weights x arm to the other axle"
        inputs: dict[str, tuple[Array | float | str, str]] = {
            "own": (own, "kg m"),
            "weights": (weights, "kg"),
            "arm": (arm, "m"),
        }
        trace.follow([step(formula, inputs, (moment, "kg m"), source="PRACTICE", status="practice")])
    return moment
