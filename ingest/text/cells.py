"""One cell's text into a number or a quantity, by a strict grammar of our own.

Nothing is handed to a units library as text and nothing is guessed: what the grammar does not hold is an error that
says what to write instead. The decimal mark is told by the caller, who knows the whole file; a cell alone cannot
settle it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Literal, TypeVar

from evener.ingest.text import cell_words
from evener.ingest.text.signs import footnote, no_reading, strange, tidied
from evener.schema import units
from evener.schema.records import Given, Quantity

DecimalMark = Literal[".", ",", ""]
Amount = tuple[float, str]
_T = TypeVar("_T")

ABOUT = 0.20  # a value given as "about" lies within this share of it, either way
LONGEST = 200

MISSING = cell_words.words("nothing")
_NO_FIGURE = cell_words.words("no_figure")
_UNKNOWN = re.compile(rf"\?+|{cell_words.pattern('unknown')}")

_FRACTION = r"\d+/\d+"
_MIXED = r"(?:\d+ |[1-9]\d*-)\d+/\d+"


def _decimal(point: str, group: str) -> str:
    # A group mark parts threes all the way, and no grouped number begins with a nought.
    grouped = "|".join(rf"[1-9]\d{{0,2}}(?:{mark}\d{{3}})+" for mark in (group, " ", "'"))
    return rf"(?:(?:{grouped}|\d+)(?:{point}\d*)?|{point}\d+)(?:e[+-]?\d+)?"


_POINT = {".": r"\.", ",": ","}
_NUMBER = {
    ".": rf"[+-]?(?:{_MIXED}|{_FRACTION}|{_decimal(_POINT['.'], _POINT[','])})",
    ",": rf"[+-]?(?:{_MIXED}|{_FRACTION}|{_decimal(_POINT[','], _POINT['.'])})",
}
_AMOUNT = {
    mark: re.compile(rf"(?P<number>{number}) ?(?P<unit>(?![\d.,/:_+-]).+)?", re.ASCII)
    for mark, number in _NUMBER.items()
}
_FEET_INCHES = {
    mark: re.compile(
        r"(?P<feet>\d+) ?(?:'|ft\.?|foot|feet) ?"
        rf"(?P<dash>- ?)?(?P<inches>{_MIXED}|{_FRACTION}|\d+(?:{point}\d+)?) ?(?P<mark>\"|in\.?|inch|inches)?",
        re.ASCII,
    )
    for mark, point in _POINT.items()
}
_POWER_OF_FEET = re.compile(r"\d+ ft[23]|\d{3,}ft[23]", re.ASCII)  # an area or a volume, no feet and inches
_METRES_CENTIMETRES = re.compile(r"(?P<metres>\d{1,2}) ?m ?(?P<centimetres>\d{2})", re.ASCII)  # 3m50
_ABOUT = re.compile(
    rf"(?:{cell_words.pattern('about')}) ?(?P<before>.+)|(?P<after>.+?) ?(?:{cell_words.pattern('about_behind')})"
)
_BETWEEN = re.compile(r"(?:between (?P<low>.+) and|from (?P<first>.+) to) (?P<high>.+)")
_PARTED = re.compile(rf" ?(?:to|or|\.\.+|-) ?| (?:{cell_words.pattern('to')}) ")
_ONE_IN = re.compile(r"(?P<rise>\d+(?:\.\d+)?) ?(?:in|:) ?(?P<run>\d+(?:\.\d+)?)", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?: \d{2}:\d{2}:\d{2}(?:\.\d+)?)?", re.ASCII)
_ONE_SIDED = re.compile(r"(?:[<>≤≥]|(?:up to|at least|at most|over|under|more than|less than|max|min)\b).*|.*\d ?\+.*")


class CellError(ValueError):
    """A text the grammar does not hold.

    Attributes
    ----------
    message : what is wrong
    remedy : what to write instead
    """

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


class AmbiguousNumber(CellError):
    """A number that reads one way with a decimal point and another with a decimal comma."""


class MissingUnit(CellError):
    """A bare number where a unit is needed."""


class FootnoteMark(CellError):
    """A raised sign, a star or a dagger beside a value: what the note says may change it."""


class WrongUnit(CellError):
    """A unit that is not known, or that measures something else."""


class NegativeValue(CellError):
    """A value below nought where that has no meaning."""


def is_missing(text: str) -> bool:
    """Tell whether a text says that no value is given: empty, dashes, "n/a"."""
    return tidied(text) in MISSING


def is_no_figure(text: str) -> bool:
    """Tell whether a text in the place of a figure says that none is given: as `is_missing`, or "make offer"."""
    tidy = tidied(text)
    return tidy in MISSING or tidy in _NO_FIGURE


def is_unknown(text: str) -> bool:
    """Tell whether a text says that the value is not known: "?", "don't know"."""
    return _UNKNOWN.fullmatch(tidied(text)) is not None


def read_number(text: str, *, decimal: DecimalMark = ".") -> float:
    """Return the finite number a text stands for: 1,500 or 1 1/2 or 3/4 or 2.5e3.

    Parameters
    ----------
    text : one number without a unit
    decimal : the decimal mark of the file; "" when it is not known, and then a text that reads two ways is refused

    Raises
    ------
    AmbiguousNumber
        The decimal mark is not known and "1,234" could be either.
    CellError
        The text is not one plain finite number.
    """

    def read(mark: str) -> float:
        found = _AMOUNT[mark].fullmatch(tidied(text))
        if found is None:
            raise _refusal(text, mark)
        if found["unit"]:
            raise CellError(f"{text.strip()!r} is more than a number", "write the number alone, without a unit")
        return _value(found["number"], mark, text)

    _readable(text)
    return _settled(text, decimal, read)


def read_quantity(
    text: str,
    unit: str,
    *,
    default_unit: str | None = None,
    decimal: DecimalMark = ".",
    measures: units.Measures = "us",
    negative: bool = False,
) -> Quantity:
    """Return what a text gives, in `unit`: a value, a range, "about" a value, or "?".

    Parameters
    ----------
    text : as written: "8 ft", 5'6", "1 1/2 in", "1 to 3 in", "about 2 in", "1,500 lb", "?"
    unit : nomenclature unit of the result
    default_unit : unit of a bare number, as a header states it; a unit in the text goes before it
    decimal : the decimal mark of the file; "" when it is not known
    measures : what a bare gallon, ton, hundredweight or bushel means
    negative : whether a value below nought has a meaning

    Raises
    ------
    MissingUnit
        A bare number, and no default unit; a ratio (unit "1") needs none.
    WrongUnit
        An unknown unit, or one of another dimension.
    NegativeValue
        Below nought where that has no meaning.
    AmbiguousNumber
        The decimal mark is not known and the number reads two ways.
    CellError
        Anything else the grammar does not hold.
    """
    fallback = default_unit or ("1" if unit == "1" else "")

    def convert(number: float, spelling: str) -> float:
        if not (spelling or fallback):
            example = f'"{number:g} {"ft" if unit == "m" else unit}"'
            raise MissingUnit(f"{text.strip()!r} has no unit", f"write the number with its unit, such as {example}")
        try:
            return number * units.factor(spelling or fallback, unit, measures=measures)
        except units.UnitError as error:
            raise WrongUnit(f"{text.strip()!r}: {error.message}", error.remedy) from None

    _readable(text)
    quantity = _settled(text, decimal, lambda mark: _quantity(text, tidied(text), mark, convert))
    return quantity if negative else _not_negative(quantity)


def read_slope(text: str) -> Quantity:
    """Return a slope [1], rise over run, from "8 %", "8 to 12 %", "5 deg" or "1 in 12".

    Parameters
    ----------
    text : as written; a bare number is refused, since 8 may be per cent or degrees

    Raises
    ------
    MissingUnit
        A bare number.
    CellError
        Anything else that is no slope.
    """

    def as_percent(found: re.Match[str]) -> str:
        run = float(found["run"])
        return f"{100 * float(found['rise']) / run!r}%" if run else found[0]

    def convert(number: float, spelling: str) -> float:
        if not spelling:
            raise MissingUnit(f"{text.strip()!r} has no unit", 'write a slope as "8 %", "5 deg" or "1 in 12"')
        unit = units.find(spelling)
        if unit.dimension == "angle" and 0 <= number <= 45:
            return math.tan(math.radians(number))
        if unit.symbol != "%":
            raise WrongUnit(f"{text.strip()!r} is no slope", 'write a slope as "8 %", "5 deg" or "1 in 12"')
        return number / 100.0

    _readable(text)
    return _not_negative(_quantity(text, _ONE_IN.sub(as_percent, tidied(text)), ".", convert))


def decimal_mark(text: str) -> DecimalMark:
    """Return the decimal mark with which alone a text can be read, or "" when it settles nothing.

    Parameters
    ----------
    text : one cell; "1,234.5" and "2.5 m" need a point, "3,05 m" a comma, "12" and "1,234" settle nothing
    """
    if footnote(text) is not None or no_reading(text) is not None:
        return ""
    point, comma = (_amounts_in_range(tidied(text), mark) is not None for mark in _POINT)
    return "" if point == comma else "." if point else ","


def written_unit(text: str, default: str | None) -> str | None:
    """Return the unit one amount is written in, or None where a text is no one amount or has no unit.

    Parameters
    ----------
    text : as written
    default : unit of a bare number
    """
    tidy = tidied(text)
    amounts = next(filter(None, (_amounts_in_range(tidy, mark) for mark in _POINT)), None)
    return (amounts[0][1] or default) if amounts is not None and len(amounts) == 1 else None


def marked(text: str) -> FootnoteMark | None:
    """Return the error a text is that bears the mark of a footnote, or None."""
    sign = footnote(text)
    if sign is None:
        return None
    return FootnoteMark(
        f"{text.strip()!r} holds {sign!r}, the mark of a footnote or a power",
        "write the value alone, and what the note says in a column of remarks",
    )


def turned_error(text: str) -> CellError | None:
    """Return the error a text is that a spreadsheet program made of a cell: a formula without its result, or a date."""
    shown = text.strip()
    if shown.startswith("="):
        return CellError(
            f"{shown!r} is a formula without a stored result",
            "open the file in a spreadsheet program and save it, or write the value",
        )
    if _DATE.fullmatch(shown):
        return CellError(
            f"{shown!r} is a date, which spreadsheet programs make of 1/2 or 3-5",
            "format the column as text and write the value again",
        )
    return None


def _short(text: str) -> None:
    if len(text) > LONGEST:
        raise CellError(f"a text of {len(text)} characters is no value", "write one number with its unit")


def _readable(text: str) -> None:
    """Refuse a text whose signs would read as another number than the one they show."""
    _short(text)
    note = marked(text)
    if note is not None:
        raise note
    problem = no_reading(text)
    if problem is not None:
        raise CellError(*problem)


def _settled(text: str, decimal: str, read: Callable[[str], _T]) -> _T:
    if decimal:
        return read(decimal)
    readings: list[_T] = []
    refusals: list[CellError] = []
    for mark in _POINT:
        try:
            readings.append(read(mark))
        except CellError as error:
            refusals.append(error)
    if not readings:
        raise refusals[0]
    if readings[0] != readings[-1]:
        raise AmbiguousNumber(
            f"{text.strip()!r} reads one way with a decimal point and another with a decimal comma",
            "state the decimal mark of the file, or write the number without a thousands mark",
        )
    return readings[0]


def _quantity(text: str, tidy: str, mark: str, convert: Callable[[float, str], float]) -> Quantity:
    if _UNKNOWN.fullmatch(tidy):
        return Quantity(None, None, "unknown", text.strip())
    about = _ABOUT.fullmatch(tidy)
    amounts = _amounts((about["before"] or about["after"]) if about else tidy, mark)
    if amounts is None:
        raise _refusal(text, mark)
    low, high = (_checked(convert(*amount), text) for amount in (amounts[0], amounts[-1]))
    if low > high:
        raise CellError(f"the range {text.strip()!r} runs backwards", "write the lower value first")
    given: Given = "exact" if low == high else "range"
    if about and given == "exact":
        reach = ABOUT * abs(low)
        return Quantity(low - reach, high + reach, "about", text.strip())
    return Quantity(low, high, given, text.strip())


def _amounts_in_range(tidy: str, mark: str) -> tuple[Amount, ...] | None:
    """Return what `_amounts` does, and None where a number is beyond any a record can hold."""
    try:
        return _amounts(tidy, mark)
    except CellError:
        return None


def _amounts(tidy: str, mark: str) -> tuple[Amount, ...] | None:
    """Return one amount, or the two ends of a range, or None where the grammar ends."""
    one = _amount(tidy, mark)
    if one is not None:
        return (one,)
    between = _BETWEEN.fullmatch(tidy)
    pairs = [(found.start(), found.end()) for found in _PARTED.finditer(tidy)]
    ends = [(tidy[:start], tidy[end:]) for start, end in pairs]
    if between is not None:
        ends = [(between["low"] or between["first"], between["high"])]
    ranges = []
    for left, right in ends:
        low, high = _amount(left, mark), _amount(right, mark)
        if low is not None and high is not None:
            ranges.append(((low[0], low[1] or high[1]), (high[0], high[1] or low[1])))
    return ranges[0] if len(ranges) == 1 else None


def _amount(tidy: str, mark: str) -> Amount | None:
    feet = _FEET_INCHES[mark].fullmatch(tidy)
    if feet and not (feet["dash"] and not feet["mark"]) and not _POWER_OF_FEET.fullmatch(tidy):
        inches = _value(feet["inches"], mark, tidy)
        if inches < 12:
            return float(feet["feet"]) + inches / 12, "ft"
    metres = _METRES_CENTIMETRES.fullmatch(tidy)
    if metres:
        return float(metres["metres"]) + float(metres["centimetres"]) / 100, "m"
    found = _AMOUNT[mark].fullmatch(tidy)
    if found is None or (found["unit"] and not units.known(found["unit"])):
        return None
    return _value(found["number"], mark, tidy), found["unit"] or ""


def _value(number: str, mark: str, text: str) -> float:
    sign = -1.0 if number.startswith("-") else 1.0
    body = number.lstrip("+-")
    if "/" in body:
        whole, top, bottom = ([0, *map(float, re.split("[ -]|/", body))])[-3:]
        if not bottom:
            raise CellError(f"{text.strip()!r} divides by nought", "write the fraction with a number below the line")
        return sign * (whole + top / bottom)
    plain = re.sub(r"[ ']", "", body).replace("." if mark == "," else ",", "").replace(",", ".")
    return _checked(sign * float(plain), text) + 0.0


def _checked(value: float, text: str) -> float:
    if not math.isfinite(value):
        raise CellError(f"{text.strip()!r} is beyond any number a record can hold", "check the value")
    return value


def _not_negative(quantity: Quantity) -> Quantity:
    if quantity.low is not None and quantity.low < 0:
        raise NegativeValue(f"{quantity.text!r} is below nought", "write a value of nought or more")
    return quantity


def _refusal(text: str, mark: str) -> CellError:
    """Return the error that says best why a text is not in the grammar."""
    shown, tidy = text.strip(), tidied(text)
    if tidy in MISSING:
        return CellError(f"{shown!r} gives no value", 'write a value with its unit, or "?" when it is not known')
    turned = turned_error(text)
    if turned is not None:
        return turned
    odd = strange(tidy)
    if odd is not None:
        return CellError(f"{shown!r} holds {odd}, which is no part of a number or unit", "write plain digits")
    if re.search(r"\d_\d", tidy):
        return CellError(f"{shown!r} has an underscore in a number", f"write {shown.replace('_', '')}")
    if _ONE_SIDED.fullmatch(tidy):
        return CellError(f"{shown!r} gives only one end", 'write a range, such as "1 to 3 in"')
    other = "," if mark == "." else "."
    if _amounts(tidy, other) is not None:
        name = {".": "point", ",": "comma"}
        return CellError(
            f"{shown!r} can only be read with a decimal {name[other]}, and the decimal mark here is the {name[mark]}",
            f"write the number with a decimal {name[mark]}",
        )
    found = _AMOUNT[mark].fullmatch(tidy)
    if found and found["unit"]:
        if re.search(r"(?<![a-z])\d|\d.", found["unit"]) or _two_units(found["unit"]):
            return CellError(f"{shown!r} holds more than one value or unit", "write one value with one unit")
        try:
            units.find(found["unit"])
        except units.UnknownUnit as error:
            return WrongUnit(
                f"{shown!r}: {error.message}", error.remedy or "write the unit as the trade does: ft, lb, hp, gal"
            )
    return CellError(f"{shown!r} is not a number with a unit", 'write it as "8 ft", "1 to 3 in", "about 2 in" or "?"')


def _two_units(spelling: str) -> bool:
    parts = re.split(r"[ /,(]+", spelling.rstrip(")"))
    return len(parts) > 1 and all(units.known(part) for part in parts)
