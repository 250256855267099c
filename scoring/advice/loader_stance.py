"""How a tractor stands with its loader full at furthest reach: counterweight needed, tipping load, front axle load.

The record gives the tractor without its loader; loader mass, its centre and its reach are trade practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.lifts import load_centre
from evener.scoring.combinations.hard_axes import SURE
from evener.scoring.core.draws import quantile
from evener.scoring.mechanics.stance import balance
from evener.scoring.place import loads, masses

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting
    from evener.scoring.gives.offer import Offer

HALVINGS = 12


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


def most_in_the_tool(setting: Setting, offer: Offer, task: Task, keep: Mask) -> float | None:
    """Return the most that may be in the tool for the front axle's permitted load [kg]; None where the full load may.

    The counterweight that each load takes is on the rear hitch. Nothing at all may be in it where tool and loader
    alone are too heavy for the axle.

    Parameters
    ----------
    setting, offer, task : the job, the tractor and the task
    keep : the draws that count
    """
    limit = offer.tractor.front_axle_max_kg
    whole = loader_stance(setting, offer, task)
    if limit is None or whole is None or _front(whole, keep) <= limit:
        return None
    least, most = 0.0, 1.0
    for _ in range(HALVINGS):
        share = (least + most) / 2
        part = loader_stance(setting, offer, task, share)
        least, most = (share, most) if part is not None and _front(part, keep) <= limit else (least, share)
    return quantile(whole.load_kg[keep], SURE) * least


def _front(stance: LoaderStance, keep: Mask) -> float:
    return quantile(stance.front_kg[keep], SURE)


def loader_stance(setting: Setting, offer: Offer, task: Task, share: float = 1.0) -> LoaderStance | None:
    """Return how a tractor stands at loader work, or None where its mass, front share or wheelbase are not known.

    Parameters
    ----------
    setting, offer, task : the job, the tractor and the task
    share : how much of a full load is in the tool [1]
    """
    tractor = offer.stands(setting)
    if tractor is None:
        return None
    full = loads.payload(setting, task)
    load = full.mass_kg * share if full is not None else np.zeros(setting.draws.n)
    tool = masses.machine(setting, task).mass_kg
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
