"""How a tractor stands with its loader full at furthest reach: counterweight needed, tipping load, front axle load.

The record gives the tractor without its loader; loader mass, its centre and its reach are trade practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.lifts import load_centre
from evener.scoring.mechanics.stance import balance
from evener.scoring.place import loads

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.gives.offer import Offer


@dataclass(frozen=True)
class LoaderStance:
    """A tractor with its loader full.

    Attributes
    ----------
    load_kg : what the tool holds, draws [kg]
    counterweight_kg : least weight on the rear hitch that keeps a fifth of all mass on the rear axle, draws [kg]
    tipping_kg : load at which the rear wheels leave the ground without a counterweight, draws [kg]
    front_kg : front axle load with load and counterweight, draws [kg]
    """

    load_kg: Array
    counterweight_kg: Array
    tipping_kg: Array
    front_kg: Array


def loader_stance(setting: Setting, offer: Offer, task: Task) -> LoaderStance | None:
    """Return how a tractor stands at loader work, or None where its mass, front share or wheelbase are not known."""
    tractor = offer.stands(setting)
    if tractor is None:
        return None
    full = loads.payload(setting, task)
    load = full.mass_kg if full is not None else np.zeros(setting.draws.n)
    tool = loads.machine(setting, task).mass_kg
    allowance, base = setting.allowance, tractor.base_m
    loader = tractor.mass_kg * allowance("loader_mass")
    reach = base * allowance("loader_reach") + load_centre(setting, task)[0]
    forward = loader * base * allowance("loader_centre") + tool * reach
    rear = np.maximum(tractor.rear_kg - forward / base, 0.0)
    total = tractor.mass_kg + loader + tool
    behind = tractor.weights_behind_m
    weight = np.asarray(balance.loader_counterweight(load, G=rear, P=total, b=reach, I_1=behind, I_2=base))
    left_behind = rear + weight * (base + behind) / base - load * reach / base
    whole = total + load + weight
    balance.require_balance(
        left_behind * base,
        rear * base + weight * (base + behind) - load * reach,
        what="moments about the front axle [kg m]",
        tolerance=1.0,
    )
    return LoaderStance(
        load_kg=load,
        counterweight_kg=weight,
        tipping_kg=np.asarray(balance.loader_tipping_load(rear, I_2=base, b=reach)),
        front_kg=whole - left_behind,
    )
