"""The trade's words for axes, bases and sizes, and numbers as people read them."""

from __future__ import annotations

from typing import Any

from evener.scoring.printing import rounded

AXIS = {
    "pto_power": "PTO power",
    "rear_lift": "rear lift",
    "loader_lift": "loader lift",
    "loader_height": "loader height",
    "hitch_category": "hitch category",
    "pto_speed": "PTO speed",
    "remotes": "rear remotes",
    "drive": "drive",
}
BASIS = {
    "rated": "its record's rating",
    "fitted": "ratings of its family",
    "computed": "published formula",
    "carried": "full load at its reach",
}
SIZE = {
    "working_width_m": "working width",
    "max_stem_m": "thickest stem",
    "payload_kg": "load",
    "tank_l": "tank",
    "slope": "slope along the work",
    "plan": "plan",
    "stack_high": "layers stacked",
    "lift_height_m": "height to lift to",
    "bale_width_m": "bale width",
    "bale_diameter_m": "bale diameter",
    "bale_height_m": "bale height",
    "auger_diameter_m": "auger diameter",
    "volume_m3": "bucket volume",
    "throughput_t_h": "crop taken up",
    "yield_t_ha": "crop yield",
}


def percent(share: float) -> str:
    """Return a share in whole per cent; only certainty is 100."""
    shown = round(share * 100)
    return "over 99 %" if shown == 100 and share < 1 else f"{shown} %"


def margin(value: float | None) -> str:
    """Return a margin in whole per cent with its sign; a small shortfall never rounds to nothing."""
    if value is None:
        return "not shown"
    shown = round(value * 100)
    if shown == 0 and value < 0:
        return "-1 %"
    return f"{shown:+d} %"


def quantity(value: float | None, unit: str) -> str:
    """Return a value with its unit, or that it is not stated."""
    return "not stated" if value is None else f"{rounded(value)} {unit}".strip()


def span(demand: dict[str, float], unit: str) -> str:
    """Return the low and high of a demand, or one number where they print alike."""
    low, high = rounded(demand["low"]), rounded(demand["high"])
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def limit(one: dict[str, Any] | None) -> str:
    """Return a limiting axis or gate in words: task, axis, and how far."""
    if one is None:
        return "nothing asked"
    where = f"{one['task']}: {AXIS.get(one['axis'], one['axis'])}"
    if "asked" in one:
        return f"{where} asks {one['asked']}, has {one['offered']}"
    if one["margin"] is None:
        return f"{where} not stated"
    if one["margin"] < 0:
        return f"{where} {margin(one['margin']).lstrip('-')} short"
    return f"{where} {margin(one['margin'])}"
