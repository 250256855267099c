"""What the records of shortlisted tractors do not state although the work asks for it.

`rank` assumes some of it from the nearest class, with that class's spread, and never counts on the rest. To know what
an answer would change, the rest is taken here as the class has it too: as a question only, never in a ranking.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations import margins as fit
from evener.scoring.core.draws import quantile
from evener.scoring.gives.capacities import FIELD, Offer, Value, nearest_class
from evener.scoring.place.sizes import unit_of
from evener.scoring.questions import parts

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.combinations.margins import Score
    from evener.scoring.core.draws import Draws
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.sizing import Sizing

SHORTLIST = 8
CHECKED = 400
TAIL = 0.025
USUAL_SPREAD_PCT = 20.0


@dataclass(frozen=True)
class CapacityPart:
    """One part of what a tractor may offer, with what it would offer then."""

    text: str
    share: float
    offer: Offer


@dataclass(frozen=True)
class OpenCapacity:
    """One number a shortlisted tractor's record does not state.

    Attributes
    ----------
    tractor : the record
    field : the nomenclature's name of what is missing
    now : what stands in for it
    parts : what it may be
    """

    tractor: Tractor
    field: str
    now: str
    parts: tuple[CapacityPart, ...]


def open_capacities(
    sizing: Sizing, scores: Sequence[Score], classes: Sequence[Tractor], units: Units
) -> Iterator[OpenCapacity]:
    """Yield the missing numbers of the tractors that come first, or that would if they had what their class has.

    Parameters
    ----------
    sizing : the job as it stands
    scores : the tractors ranked, in their order
    classes : generic classes, for what stands in
    units : units the parts are told in
    """
    draws = sizing.setting.draws
    asked = {demand.axis for task in sizing.tasks for demand in task.demands}
    filled = [(one, _filled(one.offer, asked, classes, draws)) for one in scores[:CHECKED]]
    again = [
        replace(one, offer=offer) if offer is one.offer else fit.score(sizing.tasks, offer, draws, sizing.confidence)
        for one, offer in filled
    ]
    for one in fit.rank(again)[:SHORTLIST]:
        stated = next(
            score.offer for score, offer in filled if offer.tractor.tractor_id == one.offer.tractor.tractor_id
        )
        for axis in (*(axis for axis in FIELD if axis in asked), "mass"):
            if axis == "loader_height" and one.offer.tractor.loader_lift_kg is None:
                continue  # whether there is a loader at all comes first
            value = one.offer.mass if axis == "mass" else one.offer.axes[axis]
            if value.draws is None or value.value is None or float(np.ptp(value.draws)) == 0.0:
                continue
            known = stated.mass if axis == "mass" else stated.axes[axis]
            yield _capacity(one.offer, axis, value, known, draws, sizing.setting.job.policy.units, units)


def _filled(offer: Offer, asked: set[str], classes: Sequence[Tractor], draws: Draws) -> Offer:
    """Return an offer with what is unknown and asked for taken as in the nearest class."""
    unknown = [axis for axis in FIELD if axis in asked and offer.axes[axis].draws is None]
    model = nearest_class(offer.tractor, classes) if unknown and offer.tractor.kind != "class" else None
    if model is None:
        return offer
    axes = dict(offer.axes)
    for axis in unknown:
        typical: float | None = getattr(model, FIELD[axis])
        if typical is not None:
            key = f"tractor/{offer.tractor.tractor_id}/{FIELD[axis]}"
            spread = model.spread_pct or USUAL_SPREAD_PCT
            axes[axis] = Value(typical, draws.published(key, typical, spread), model.label)
    return replace(offer, axes=axes)


def _capacity(
    offer: Offer, axis: str, value: Value, known: Value, draws: Draws, own: Units, units: Units
) -> OpenCapacity:
    field = "mass_kg" if axis == "mass" else FIELD[axis]
    unit = unit_of(field) if not field.endswith("_kw") else "kW"
    shown = parts.scale(unit, units, field)
    drawn = value.draws if value.draws is not None else np.full(draws.n, value.value)
    low, high = quantile(drawn, TAIL), quantile(drawn, 1 - TAIL)
    found = []
    for one in parts.spans(low, high, parts.scale(unit, own, field), drawn):
        settled = Value(one.middle, np.full(draws.n, one.middle))
        changed = replace(offer, mass=settled) if axis == "mass" else replace(offer, axes={**offer.axes, axis: settled})
        found.append(CapacityPart(parts.text(one.low, one.high, shown), one.share, changed))
    typical = parts.text(low, high, shown)
    if known.draws is None:
        now = f"not stated; its class has {typical}"
    elif known.assumed_from:
        now = f"not stated, taken as {typical}"
    else:
        now = f"estimated, {typical}"
    return OpenCapacity(offer.tractor, field, now, tuple(found))
