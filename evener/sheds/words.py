"""What the answers of a shed say in words: a verdict with its reason, a remedy, a plate to read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.results.answer import Worded
from evener.scoring.core.printing import show
from evener.scoring.shed.cells import DOES_NOT, NOT_KNOWN, NOT_LENT, WITH

if TYPE_CHECKING:
    from evener.scoring.core.printing import Units
    from evener.scoring.shed.cells import Cell, Plate, Remedy

AXIS = {
    "pto_power": "PTO power",
    "pto_power_kw": "PTO power",
    "hitch_lift_610_kg": "rear lift at 24 in (610 mm)",
    "loader_lift_kg": "loader lift",
    "loader_height_m": "loader height",
    "hydraulic_flow_l_min": "oil flow",
    "hydraulic_flow": "oil flow",
    "tow_mass": "towed mass",
    "pto_speed": "PTO speed",
    "front_axle": "load on the front axle",
    "rear_axle": "load on the rear axle",
}


def named(axis: str) -> str:
    """Return the trade's word for an axis or a field."""
    return AXIS.get(axis, axis.replace("_", " "))


def why(cell: Cell) -> Worded[str]:
    """Return why a combination has its verdict."""
    return Worded(_why(cell, "si"), _why(cell, "us"))


def _why(cell: Cell, units: Units) -> str:
    if cell.verdict == DOES_NOT:
        return _short(cell, units)
    if cell.verdict == NOT_KNOWN:
        return "; ".join(plate(one, units) for one in cell.plates)
    if cell.verdict == WITH:
        return "; ".join(remedy(one, units) for one in cell.remedies)
    return ""


def _short(cell: Cell, units: Units) -> str:
    what = named(cell.axis or "")
    if cell.axis == NOT_LENT:
        return cell.has or what
    if cell.asked is not None:
        return f"{what}: asks {cell.asked}, has {cell.has}"
    if cell.need is None or cell.unit is None:
        return what
    asks, far = show(cell.need, cell.unit, units), f"{max(1, round(100 * (cell.short or 0.0)))} % short"
    if cell.axis in ("front_axle", "rear_axle"):
        return f"{what}: too little is left on it, {far}"
    has = "" if cell.capacity is None else f", has {show(cell.capacity, cell.unit, units)}"
    return f"{what}: asks {asks}{has}, {far}"


def plate(one: Plate, units: Units) -> str:
    """Return which figure to read, and from what value on the answer is yes."""
    if one.field == "loader":
        return "say whether it has a loader, and what that lifts"
    if one.field in ("front_axle", "rear_axle") and one.need is not None and one.taken:
        which, more = one.field.replace("_", " "), max(1, round(100 * (one.need / one.taken - 1)))
        return f"weigh its {which}: {more} % more on it than was taken, and it does it"
    taken = "" if one.taken is None or one.unit is None else f" (taken as {show(one.taken, one.unit, units)})"
    if one.need is None or one.unit is None:
        return f"read its {named(one.field)}"
    return f"read its {named(one.field)}{taken}: from {show(one.need, one.unit, units)} on it does it"


def remedy(one: Remedy, units: Units) -> str:
    """Return a remedy with its amount."""
    return one.text if one.amount is None else f"{one.text} {show(one.amount, one.unit, units)}"
