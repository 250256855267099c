"""What a tractor offers on each axis; what its record does not state is assumed from the nearest class and marked."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from evener.schema.certainty import STATED, USUAL_SPREAD_PCT

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array, Draws
    from evener.scoring.core.trace import Step

FIELD = {
    "pto_power": "pto_power_kw",
    "rear_lift": "hitch_lift_610_kg",
    "loader_lift": "loader_lift_kg",
    "loader_height": "loader_height_m",
    "hydraulic_flow": "hydraulic_flow_l_min",
}
ASSUMABLE = frozenset(
    {
        "hitch_lift_610_kg",
        "loader_height_m",
        "mass_kg",
        "hydraulic_flow_l_min",
        "front_mass_share",
        "wheelbase_m",
        "rear_tyre_width_m",
        "rear_tyre_diameter_m",
    }
)
GATE_FIELDS = ("hitch_category", "pto_speeds_rpm", "rear_remotes")
TEST_POINT_M = 0.61
Worked = TypeVar("Worked")
LEVER = 1e6


@dataclass(frozen=True)
class Value:
    """A tractor's value on one field.

    Attributes
    ----------
    value : the number to print, or None where nothing can be assumed
    draws : the number as draws; the same value where it is stated
    assumed_from : label of the class it was taken from, or None where the record states it
    steps : how it came about in the middle case, where it was worked out
    notes : what a reader should know of it
    """

    value: float | None
    draws: Array | None
    assumed_from: str | None = None
    steps: tuple[Step, ...] = ()
    notes: tuple[str, ...] = ()


UNKNOWN = Value(None, None)


@dataclass(frozen=True)
class Offer:
    """What one tractor offers.

    Attributes
    ----------
    axes : Value per axis
    mass : mass [kg]
    tractor : the record, with the class's words where it is silent on a gate
    assumed_gates : the fields those words are in
    link : how the hitch's lift bends with reach, c in F(x) = F_0 / (1 + c x) [1/m]; `LEVER` where unknown
    model : the class that stands in for what the record does not state
    draws : the shared draws
    """

    tractor: Tractor
    axes: dict[str, Value]
    mass: Value
    link: float
    draws: Draws
    assumed_gates: tuple[str, ...] = ()
    model: Tractor | None = None
    _taken: dict[str, Value] = field(default_factory=dict, init=False, compare=False, repr=False)
    _worked: dict[str, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def take(self, name: str) -> Value:
        """Return a column of the record by its name, assumed from the class where it is not stated."""
        if name == "mass_kg":
            return self.mass
        if name not in self._taken:
            self._taken[name] = _value(self.tractor, name, self.model, self.draws)
        return self._taken[name]

    def work_out(self, key: str, make: Callable[[], Worked]) -> Worked:
        """Return what is worked out of the tractor, such as a capacity, once for each key."""
        if key not in self._worked:
            self._worked[key] = make()
        worked: Worked = self._worked[key]
        return worked

    def on(self, demand: Demand) -> Value:
        """Return what the tractor offers against a demand: a column, or what it is worth on the demand's terms."""
        terms = demand.terms
        if terms is None:
            return self.axes[demand.axis]
        return self.work_out(f"{demand.axis}/{terms.key}", lambda: terms.capacity(self))

    @property
    def assumed(self) -> list[str]:
        """Fields that were assumed or estimated, in the nomenclature's names; of balance and grip, those used."""
        named = [FIELD[axis] for axis, value in self.axes.items() if value.assumed_from]
        named += ["mass_kg"] if self.mass.assumed_from else []
        named += [name for name, value in self._taken.items() if value.assumed_from]
        return sorted({*named, *self.assumed_gates, *self.tractor.estimated})


def nearest_class(tractor: Tractor, classes: Sequence[Tractor]) -> Tractor | None:
    """Return the class a tractor falls in: nearest in PTO power, with its own drive where there is one."""
    if tractor.pto_power_kw is None:
        return None
    power = tractor.pto_power_kw
    same = [one for one in classes if one.drive == tractor.drive] or list(classes)
    sized = [one for one in same if one.pto_power_kw]
    if not sized:
        return None
    return min(sized, key=lambda one: (abs(math.log(power / (one.pto_power_kw or 1.0))), one.tractor_id))


def offer(tractor: Tractor, classes: Sequence[Tractor], draws: Draws) -> Offer:
    """Return what a tractor offers on every axis."""
    model = nearest_class(tractor, classes) if tractor.kind != "class" else None
    axes = {axis: _value(tractor, field, model, draws) for axis, field in FIELD.items()}
    if tractor.loader_lift_kg is None:
        axes["loader_height"] = Value(None, None)
    link = _link(tractor) if _link(tractor) is not None else (_link(model) if model else None)
    if tractor.hitch_lift_610_kg is None and tractor.hitch_lift_ends_kg is not None:
        axes["rear_lift"] = _lift_from_ends(tractor, model, link, draws)
    filled, silent = _gates_filled(tractor, model)
    mass = _value(tractor, "mass_kg", model, draws)
    return Offer(filled, axes, mass, LEVER if link is None else link, draws, silent, model)


def _gates_filled(tractor: Tractor, model: Tractor | None) -> tuple[Tractor, tuple[str, ...]]:
    if model is None:
        return tractor, ()
    silent = {name: getattr(model, name) for name in GATE_FIELDS if getattr(tractor, name) in (None, ())}
    silent = {name: value for name, value in silent.items() if value not in (None, ())}
    return (replace(tractor, **silent), tuple(silent)) if silent else (tractor, ())


def _link(tractor: Tractor) -> float | None:
    """Return c [1/m] from the two rated lifts; one that keeps its lift with reach counts as parallel."""
    at_610, ends = tractor.hitch_lift_610_kg, tractor.hitch_lift_ends_kg
    return None if at_610 is None or ends is None else max(ends / at_610 - 1, 0.0) / TEST_POINT_M


def _lift_from_ends(tractor: Tractor, model: Tractor | None, link: float | None, draws: Draws) -> Value:
    """Return the lift at 610 mm from the lift at the ends, by the bend of the class's linkage."""
    if link is None or model is None or tractor.hitch_lift_ends_kg is None:
        return Value(None, None)
    value = tractor.hitch_lift_ends_kg / (1 + TEST_POINT_M * link)
    return Value(
        value, draws.published(f"tractor/{tractor.tractor_id}/hitch_lift_610_kg", value, model.spread_pct), model.label
    )


def _value(tractor: Tractor, field: str, model: Tractor | None, draws: Draws) -> Value:
    stated: float | None = getattr(tractor, field)
    key = f"tractor/{tractor.tractor_id}/{field}"
    if stated is not None:
        return Value(stated, _drawn(tractor, field, stated, model, draws, key))
    assumed: float | None = getattr(model, field) if model is not None and field in ASSUMABLE else None
    if assumed is None or model is None:
        return Value(None, None)
    values = draws.published(key, assumed, model.spread_pct)
    return Value(assumed, values, model.label)


def _drawn(tractor: Tractor, field: str, value: float, model: Tractor | None, draws: Draws, key: str) -> Array:
    """Return the draws of a value the record has, by how sure it is there."""
    sure = tractor.estimated.get(field, STATED)
    if sure.kind == "stated":
        return np.full(draws.n, value)
    span = sure.span(value)
    if span is not None:
        return draws.uniform(key, *span)
    spreads = (sure.spread_pct, tractor.spread_pct, model.spread_pct if model else None, USUAL_SPREAD_PCT)
    return draws.published(key, value, next(one for one in spreads if one is not None))
