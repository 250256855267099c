"""Whether the tractor keeps its stance with a raised machine: a fifth of its mass in front, or 45 % behind.

The demand is the machine's moment about the axle that carries it: mass x (hitch from the axle + centre of mass from the
hitch). The capacity is the moment the other axle can give up, with a usual set of weights fitted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Demand, Terms
from evener.scoring.core.draws import median
from evener.scoring.core.trace import Step, applied, step
from evener.scoring.gives.capacities import UNKNOWN, Value
from evener.scoring.mechanics.stance import balance

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.gives.capacities import Offer
    from evener.scoring.place.sizes import Size

LEAST_KG_M = 1e-6


@dataclass(frozen=True)
class Tractor:
    """What balance asks to know of one tractor, as draws.

    Attributes
    ----------
    mass_kg, front_kg, rear_kg : unladen mass and axle loads [kg]
    base_m : wheelbase [m]
    behind_m : lower hitch points behind the rear axle [m]
    ahead_m : front hitch ahead of the front axle [m]
    weights_ahead_m, weights_behind_m : centre of front weights ahead of the front axle, of rear ones behind it [m]
    assumed_from : the class some of it was taken from
    """

    mass_kg: Array
    front_kg: Array
    rear_kg: Array
    base_m: Array
    behind_m: Array
    ahead_m: Array
    weights_ahead_m: Array
    weights_behind_m: Array
    assumed_from: str | None


def stand(setting: Setting, offer: Offer) -> Tractor | None:
    """Return how a tractor stands, or None where mass, front share or wheelbase are not known."""
    return offer.work_out("stand", lambda: _stand(setting, offer))


def _stand(setting: Setting, offer: Offer) -> Tractor | None:
    mass, share, base = (offer.take(name) for name in ("mass_kg", "front_mass_share", "wheelbase_m"))
    if mass.draws is None or share.draws is None or base.draws is None:
        return None
    diameter = offer.take("rear_tyre_diameter_m")
    allowance = setting.allowance
    if diameter.draws is None:
        behind = base.draws * allowance("hitch_behind_axle")
    else:
        behind = diameter.draws / 2 + allowance("hitch_behind_tyre")
    known = (mass, share, base, diameter)
    return Tractor(
        mass_kg=mass.draws,
        front_kg=mass.draws * share.draws,
        rear_kg=mass.draws * (1 - share.draws),
        base_m=base.draws,
        behind_m=behind,
        ahead_m=base.draws * allowance("front_hitch_ahead"),
        weights_ahead_m=base.draws * allowance("front_weights_ahead"),
        weights_behind_m=behind + allowance("rear_weights_behind"),
        assumed_from=next((one.assumed_from for one in known if one.assumed_from), None),
    )


@dataclass(frozen=True)
class Raised(Terms):
    """A machine raised behind or in front.

    Attributes
    ----------
    key : where it hangs
    """

    key: str
    setting: Setting

    @property
    def rear(self) -> bool:
        """Whether it hangs behind."""
        return self.key == "rear"

    def lever_m(self, offer: Offer) -> Array | None:
        """Return how far the hitch is from the axle that carries the machine [m]."""
        tractor = stand(self.setting, offer)
        if tractor is None:
            return None
        return tractor.behind_m if self.rear else tractor.ahead_m

    def capacity(self, offer: Offer) -> Value:
        """Return the moment the tractor can give up, a usual set of weights fitted [kg m]."""
        tractor = stand(self.setting, offer)
        if tractor is None:
            return UNKNOWN
        moment, steps = self._front(tractor) if self.rear else self._behind(tractor)
        moment = np.maximum(moment, LEAST_KG_M)
        return Value(median(moment), moment, tractor.assumed_from, tuple(steps))

    def _front(self, tractor: Tractor) -> tuple[Array, list[Step]]:
        own = np.asarray(balance.front_moment_to_spare(tractor.front_kg, T_L=tractor.mass_kg, b=tractor.base_m))
        weights = tractor.mass_kg * self.setting.allowance("front_weights")
        arm = tractor.weights_ahead_m + tractor.base_m
        steps = [
            applied(
                "balance.front_moment_to_spare",
                {"T_V": (tractor.front_kg, "kg"), "T_L": (tractor.mass_kg, "kg"), "b": (tractor.base_m, "m")},
                (own, "kg m"),
            ),
            self._weights_step("front", weights, arm, own + weights * arm, own),
        ]
        return own + weights * arm, steps

    def _behind(self, tractor: Tractor) -> tuple[Array, list[Step]]:
        own = np.asarray(balance.rear_moment_to_spare(tractor.rear_kg, T_L=tractor.mass_kg, b=tractor.base_m))
        weights = tractor.mass_kg * self.setting.allowance("rear_weights")
        arm = tractor.weights_behind_m + tractor.base_m
        steps = [
            applied(
                "balance.rear_moment_to_spare",
                {"T_H": (tractor.rear_kg, "kg"), "T_L": (tractor.mass_kg, "kg"), "b": (tractor.base_m, "m")},
                (own, "kg m"),
            ),
            self._weights_step("rear", weights, arm, own + weights * arm, own),
        ]
        return own + weights * arm, steps

    def _weights_step(self, where: str, weights: Array, arm: Array, moment: Array, own: Array) -> Step:
        inputs: dict[str, tuple[Array | float | str, str]] = {
            "own": (own, "kg m"),
            "weights": (weights, "kg"),
            "arm": (arm, "m"),
        }
        formula = f"with a usual set of {where} weights: own + weights x arm to the other axle"
        return step(formula, inputs, (moment, "kg m"), source="PRACTICE", status="practice")


def raised(setting: Setting, task: Task, full_kg: Array, reach: Size, *, rear: bool) -> Demand:
    """Return the moment of a full machine, raised, about the axle that carries it [kg m].

    Parameters
    ----------
    setting, task : the job and the task
    full_kg : machine with what it holds [kg]
    reach : its centre of mass from the hitch points [m]
    rear : whether it hangs behind
    """
    steps = (
        step("full machine, raised", {}, (full_kg, "kg"), source="PRACTICE", status="practice"),
        step("centre of mass from the hitch points", {}, (reach.values, "m"), source=reach.source, status=reach.status),
    )
    return Demand(
        task.name,
        "front_axle" if rear else "rear_axle",
        full_kg * reach.values,
        full_kg,
        "lever_m",
        "carried",
        steps,
        terms=Raised("rear" if rear else "front", setting),
    )
