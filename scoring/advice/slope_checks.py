"""Limits of one tractor on slopes: uphill with a machine raised, across, and downhill with a machine towed.

They are computed from rigid bodies at rest and clear no slope: the manual does. How steep he drives and what is braked
is the customer's to decide, so that these are printed beside the steepest stretch he has, and refuse nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks import tow
from evener.scoring.combinations.hard_axes import SURE, uphill_limit
from evener.scoring.core.draws import quantile
from evener.scoring.core.printing import Units, show
from evener.scoring.mechanics.stance import on_slope, rollover
from evener.scoring.mechanics.tyres import grade
from evener.scoring.place.slopes import steepest
from evener.scoring.place.terms import RAISED, Raised

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.setting import Setting
    from evener.scoring.gives.offer import Offer

STEEP_TO_TOW = 0.10
HEAVY_TOW = 0.5


def uphill(offer: Offer, demand: Demand) -> Iterator[str]:
    """Say where the ground is steeper than the front axle bears with a machine raised behind."""
    terms = demand.terms
    if not isinstance(terms, Raised) or not terms.rear or not offer.block.take("mass_kg").known[0]:
        return
    limit, here = quantile(uphill_limit(demand, offer.block)[0], 1 - SURE), quantile(terms.steepest, SURE)
    if limit < here:
        raised = terms.how == RAISED
        help_ = "More front weights, or a machine on its own wheels" if raised else "More front weights, or a part load"
        yield (
            f"{demand.task}: {terms.how} the front axle of {offer.tractor.label} gets too light on slopes "
            f"above {percent(limit)}, and the steepest here is up to {percent(here)}. That is a computed limit; the "
            f"manual may set less. {help_}, would help."
        )


def across(setting: Setting, offer: Offer, units: Units) -> Iterator[str]:
    """Say where the ground is steeper than what is left of the static limit across it."""
    track, stance = offer.take("track_width_m").draws, offer.stands(setting)
    if track is None or stance is None or not setting.job.tasks:
        return
    static = np.asarray(rollover.side_slope_limit(track, h_cg=stance.centre_m))
    limit = quantile(np.asarray(rollover.working_side_slope(static)), 1 - SURE)
    here = max(quantile(steepest(setting, task).values, SURE) for task in setting.job.tasks)
    if limit < here:
        yield (
            f"Across the slope: {offer.tractor.label} has a computed limit of {percent(limit)} (half the angle at "
            f"which it tips at rest, nothing raised, {show(float(track[0]), 'm', units)} track), and the steepest "
            f"here is up to {percent(here)}. The manual may set less."
        )


def downhill(setting: Setting, offer: Offer, task: Task, towed: Demand, units: Units) -> Iterator[str]:
    """Say where a towed machine pushes downhill, and up to which slope the tractor's own brakes hold both."""
    own, mass = offer.take("mass_kg").draws, quantile(towed.alpha, SURE)
    here = quantile(steepest(setting, task).values, SURE)
    if own is None:
        return
    held = np.asarray(on_slope.grade_held(own, m=towed.alpha, mu=setting.allowance("brake_grip")))
    limit = quantile(held, 1 - SURE)
    if tow.UNBRAKED in tow.brakes_of(setting, task) and limit < here:
        yield (
            f"{task.name}: without brakes of its own the towed machine is held by {offer.tractor.label} on slopes "
            f"up to about {percent(limit)}, and the steepest here is up to {percent(here)}: have it braked, or keep "
            "off. That is a computed limit; the manual may set less."
        )
    elif here >= STEEP_TO_TOW and mass > quantile(own, 0.5) * HEAVY_TOW:
        push = float(np.asarray(grade.grade_force(mass, slope=here)))
        yield (
            f"{task.name}: downhill the towed machine pushes with up to {show(push, 'kN', units)}: go down in a low "
            "gear, with brakes on the machine."
        )


def percent(slope: float) -> str:
    """Return a slope in words."""
    return f"{max(slope, 0.0) * 100:.0f} %"
