"""Answers in the reader's units: every number that stands beside a unit is turned with it."""

from __future__ import annotations

from typing import Any, Literal

from evener.schema import units as unit_table

Units = Literal["si", "us"]
CONVERTED = frozenset(
    {
        "covered",
        "unexplained",
        "low",
        "median",
        "high",
        "middle",
        "capacity",
        "pto_power",
        "area",
        "total",
        "amount",
        "weights",
    }
)


def in_units(answer: dict[str, Any], units: Units) -> dict[str, Any]:
    """Return an answer with every number beside a unit in that system; worked steps stay in SI."""
    if units == "si":
        return answer
    turned: dict[str, Any] = _turn(answer, None, "")
    return turned


def show(value: float, unit: str, units: Units, field: str = "") -> str:
    """Return a value with its unit for reading, to the precision it deserves."""
    symbol, factor = unit_table.us(unit, field=field) if units == "us" else (unit, 1.0)
    return f"{rounded(value * factor)} {symbol}".strip()


def rounded(value: float) -> str:
    """Return a number to the two or three figures it deserves, without trailing zeros."""
    size = abs(value)
    if size >= 1000:
        return f"{round(value, -1):,.0f}"
    decimals = 0 if size >= 20 else 1 if size >= 2 else 2
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if decimals else text


def _turn(value: Any, factor: float | None, name: str) -> Any:
    if isinstance(value, dict):
        unit = value.get("unit")
        if isinstance(unit, str) and "formula" not in value:
            symbol, factor = unit_table.us(unit, field=str(value.get("size", "")))
            return {key: symbol if key == "unit" else _turn(inner, factor, key) for key, inner in value.items()}
        if "formula" in value:
            return value
        return {key: _turn(inner, factor, key) for key, inner in value.items()}
    if isinstance(value, list):
        return [_turn(inner, None if name != "demand" else factor, name) for inner in value]
    if isinstance(value, float | int) and not isinstance(value, bool) and factor is not None and name in CONVERTED:
        return value * factor
    return value
