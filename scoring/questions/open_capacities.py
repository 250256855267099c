"""What the records of shortlisted tractors do not state although the work asks for it.

`rank` assumes some of it from the nearest class, with that class's spread, and never counts on the rest. To know what
an answer would change, the rest is taken here as the class has it too: as a question only, never in a ranking.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.scores import rank, score
from evener.scoring.core.draws import quantile
from evener.scoring.gives.capacity import FIELD
from evener.scoring.gives.tractors import nearest_class
from evener.scoring.place.sizes import unit_of
from evener.scoring.questions import parts

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.combinations.scores import Score
    from evener.scoring.core.draws import Array, Draws
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer, Value

SHORTLIST = 8
CHECKED = 400
TAIL = 0.025
USUAL_SPREAD_PCT = 20.0


@dataclass(frozen=True)
class CapacityPart:
    """One part of what a tractor may offer, with what it would offer then; `ends` are its two ends in words."""

    text: str
    share: float
    offer: Offer
    ends: tuple[str, str]


@dataclass(frozen=True)
class OpenCapacity:
    """One number a shortlisted tractor's record does not state.

    Attributes
    ----------
    tractor : the record
    field : the nomenclature's name of what is missing
    now : what stands in for it
    parts : what it may be
    ordered : neighbouring parts can be told as one
    """

    tractor: Tractor
    field: str
    now: str
    parts: tuple[CapacityPart, ...]
    ordered: bool = True


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
    asked = {demand.axis for task in sizing.tasks for demand in task.demands}
    filled = [(one, _filled(one.offer, asked, classes, sizing.setting.draws)) for one in scores[:CHECKED]]
    again = [one if offer is one.offer else score(sizing.tasks, offer, one.reach) for one, offer in filled]
    for one in rank(again)[:SHORTLIST]:
        stated = next(each.offer for each, _ in filled if each.tractor.tractor_id == one.tractor.tractor_id)
        for name in (*(FIELD[axis] for axis in FIELD if axis in asked), "mass_kg"):
            if name == "loader_height_m" and one.tractor.loader_lift_kg is None:
                continue  # whether there is a loader at all comes first
            value = one.offer.take(name)
            if value.draws is None or float(np.ptp(value.draws)) == 0.0:
                continue
            yield _capacity(one.offer, name, value.draws, stated.take(name), sizing.setting.job.policy.units, units)


def _filled(offer: Offer, asked: set[str], classes: Sequence[Tractor], draws: Draws) -> Offer:
    """Return an offer with what is unknown and asked for taken as in the nearest class."""
    unknown = [name for axis, name in FIELD.items() if axis in asked and offer.take(name).draws is None]
    model = nearest_class(offer.record, classes) if unknown and offer.record.kind != "class" else None
    if model is None:
        return offer
    for name in unknown:
        typical: float | None = getattr(model, name)
        if typical is not None:
            spread = model.spread_pct or USUAL_SPREAD_PCT
            offer = offer.with_values(name, draws.published(f"tractor/{name}", typical, spread), assumed=True)
    return offer


def _capacity(offer: Offer, name: str, drawn: Array, known: Value, own: Units, units: Units) -> OpenCapacity:
    unit = unit_of(name) if not name.endswith("_kw") else "kW"
    shown = parts.scale(unit, units, name)
    low, high = quantile(drawn, TAIL), quantile(drawn, 1 - TAIL)
    found = [
        CapacityPart(
            parts.text(one.low, one.high, shown, (low, high)),
            one.share,
            offer.with_values(name, np.full(1, one.middle)),
            parts.ends(one.low, one.high, shown, (low, high)),
        )
        for one in parts.spans(low, high, parts.scale(unit, own, name), drawn)
    ]
    typical = parts.text(low, high, shown, (low, high))
    if known.draws is None:
        now = f"not stated; its class has {typical}"
    elif known.assumed_from:
        now = f"not stated, taken as {typical}"
    else:
        now = f"estimated, {typical}"
    return OpenCapacity(offer.tractor, name, now, tuple(found))
