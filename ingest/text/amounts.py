"""Amounts as they are written: a number with its unit, a range of two, feet and inches, one amount in two units."""

from __future__ import annotations

import math
import re

from evener.ingest.text import cell_words
from evener.ingest.text.cell_errors import CellError
from evener.schema import units

Amount = tuple[float, str]

_FRACTION = r"\d+/\d+"
_MIXED = r"(?:\d+ |[1-9]\d*-)\d+/\d+"


def _decimal(point: str, group: str) -> str:
    # A group mark parts threes all the way, and no grouped number begins with a nought.
    grouped = "|".join(rf"[1-9]\d{{0,2}}(?:{mark}\d{{3}})+" for mark in (group, " ", "'"))
    return rf"(?:(?:{grouped}|\d+)(?:{point}\d*)?|{point}\d+)(?:e[+-]?\d+)?"


MARKS = {".": r"\.", ",": ","}
_NUMBER = {
    ".": rf"[+-]?(?:{_MIXED}|{_FRACTION}|{_decimal(MARKS['.'], MARKS[','])})",
    ",": rf"[+-]?(?:{_MIXED}|{_FRACTION}|{_decimal(MARKS[','], MARKS['.'])})",
}
AMOUNT = {
    mark: re.compile(rf"(?P<number>{number}) ?(?P<unit>(?![\d.,/:_+-]).+)?", re.ASCII)
    for mark, number in _NUMBER.items()
}
_FEET_INCHES = {
    mark: re.compile(
        r"(?P<feet>\d+) ?(?:'|ft\.?|foot|feet) ?"
        rf"(?P<dash>- ?)?(?P<inches>{_MIXED}|{_FRACTION}|\d+(?:{point}\d+)?) ?(?P<mark>\"|in\.?|inch|inches)?",
        re.ASCII,
    )
    for mark, point in MARKS.items()
}
_POWER_OF_FEET = re.compile(r"\d+ ft[23]|\d{3,}ft[23]", re.ASCII)  # an area or a volume, no feet and inches
_METRES_CENTIMETRES = re.compile(r"(?P<metres>\d{1,2}) ?m ?(?P<centimetres>\d{2})", re.ASCII)  # 3m50
_TWICE = re.compile(r"(?P<first>[^/()=]+?) ?(?:/|=|\() ?(?P<second>[^/()=]+?)\)?")
_ROUNDED = 0.02  # of an amount said twice, so far one may be rounded from the other
_BETWEEN = re.compile(r"(?:between (?P<low>.+) and|from (?P<first>.+) to) (?P<high>.+)")
_PARTED = re.compile(rf" ?(?:to|or|\.\.+|-) ?| (?:{cell_words.pattern('to')}) ")


def said_twice(tidy: str, mark: str) -> tuple[Amount, ...] | None:
    """Return the first of two amounts that say the same in two units, "4,100 lb (1,860 kg)", or None."""
    twice = _TWICE.fullmatch(tidy)
    both = [_one(twice[part], mark) for part in ("first", "second")] if twice else []
    if len(both) < 2 or any(one is None or not one[1] for one in both):
        return None
    (one, unit), (other, unit_of_other) = ((value, units.find(unit)) for value, unit in filter(None, both))
    if unit.dimension != unit_of_other.dimension or unit == unit_of_other:
        return None
    try:
        same = units.factor(unit.symbol, unit_of_other.symbol, measures="us") * one
    except units.UnitError:
        return None
    return tuple(filter(None, both[:1])) if abs(same - other) <= _ROUNDED * other else None


def in_range(tidy: str, mark: str) -> tuple[Amount, ...] | None:
    """Return what `read` does, and None where a number is beyond any a record can hold."""
    try:
        return read(tidy, mark)
    except CellError:
        return None


def read(tidy: str, mark: str) -> tuple[Amount, ...] | None:
    """Return one amount, or the two ends of a range, or None where the grammar ends."""
    one = _one(tidy, mark)
    if one is not None:
        return (one,)
    between = _BETWEEN.fullmatch(tidy)
    pairs = [(found.start(), found.end()) for found in _PARTED.finditer(tidy)]
    ends = [(tidy[:start], tidy[end:]) for start, end in pairs]
    if between is not None:
        ends = [(between["low"] or between["first"], between["high"])]
    ranges = []
    for left, right in ends:
        low, high = _one(left, mark), _one(right, mark)
        if low is not None and high is not None:
            ranges.append(((low[0], low[1] or high[1]), (high[0], high[1] or low[1])))
    return ranges[0] if len(ranges) == 1 else None


def _one(tidy: str, mark: str) -> Amount | None:
    feet = _FEET_INCHES[mark].fullmatch(tidy)
    if feet and not (feet["dash"] and not feet["mark"]) and not _POWER_OF_FEET.fullmatch(tidy):
        inches = value_of(feet["inches"], mark, tidy)
        if inches < 12:
            return float(feet["feet"]) + inches / 12, "ft"
    metres = _METRES_CENTIMETRES.fullmatch(tidy)
    if metres:
        return float(metres["metres"]) + float(metres["centimetres"]) / 100, "m"
    found = AMOUNT[mark].fullmatch(tidy)
    if found is None or (found["unit"] and not units.known(found["unit"])):
        return None
    return value_of(found["number"], mark, tidy), found["unit"] or ""


def value_of(number: str, mark: str, text: str) -> float:
    """Return the number that digits with a fraction, a group mark or a decimal mark stand for."""
    sign = -1.0 if number.startswith("-") else 1.0
    body = number.lstrip("+-")
    if "/" in body:
        whole, top, bottom = ([0, *map(float, re.split("[ -]|/", body))])[-3:]
        if not bottom:
            raise CellError(f"{text.strip()!r} divides by nought", "write the fraction with a number below the line")
        return sign * (whole + top / bottom)
    plain = re.sub(r"[ ']", "", body).replace("." if mark == "," else ",", "").replace(",", ".")
    return checked(sign * float(plain), text) + 0.0


def checked(value: float, text: str) -> float:
    """Return a number that a record can hold."""
    if not math.isfinite(value):
        raise CellError(f"{text.strip()!r} is beyond any number a record can hold", "check the value")
    return value
