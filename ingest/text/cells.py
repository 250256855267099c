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

from evener.ingest.text import amounts, cell_words, refusals
from evener.ingest.text.cell_errors import (
    AmbiguousNumber,
    CellError,
    MissingUnit,
    NegativeValue,
    WrongUnit,
)
from evener.ingest.text.signs import footnote, no_reading, tidied
from evener.schema import units
from evener.schema.records import Given, Quantity

DecimalMark = Literal[".", ",", ""]
_T = TypeVar("_T")

ABOUT = 0.20  # a value given as "about" lies within this share of it, either way
LONGEST = 200

_NO_FIGURE = cell_words.words("no_figure")
_UNKNOWN = re.compile(rf"\?+|{cell_words.pattern('unknown')}")

_ABOUT = re.compile(
    rf"(?:{cell_words.pattern('about')}) ?(?P<before>.+)|(?P<after>.+?) ?(?:{cell_words.pattern('about_behind')})"
)
_ONE_IN = re.compile(r"(?P<rise>\d+(?:\.\d+)?) ?(?:in|:) ?(?P<run>\d+(?:\.\d+)?)", re.ASCII)


def is_missing(text: str) -> bool:
    """Tell whether a text says that no value is given: empty, dashes, "n/a"."""
    return tidied(text) in refusals.MISSING


def is_no_figure(text: str) -> bool:
    """Tell whether a text in the place of a figure says that none is given: as `is_missing`, or "make offer"."""
    tidy = tidied(text)
    return tidy in refusals.MISSING or tidy in _NO_FIGURE


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
        found = amounts.AMOUNT[mark].fullmatch(tidied(text))
        if found is None:
            raise refusals.refusal(text, mark)
        if found["unit"]:
            raise CellError(f"{text.strip()!r} is more than a number", "write the number alone, without a unit")
        return amounts.value_of(found["number"], mark, text)

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
    point, comma = (amounts.in_range(tidied(text), mark) is not None for mark in amounts.MARKS)
    return "" if point == comma else "." if point else ","


def written_unit(text: str, default: str | None) -> str | None:
    """Return the unit one amount is written in, or None where a text is no one amount or has no unit.

    Parameters
    ----------
    text : as written
    default : unit of a bare number
    """
    tidy = tidied(text)
    said = next(filter(None, (amounts.in_range(tidy, mark) for mark in amounts.MARKS)), None)
    return (said[0][1] or default) if said is not None and len(said) == 1 else None


def _short(text: str) -> None:
    if len(text) > LONGEST:
        raise CellError(f"a text of {len(text)} characters is no value", "write one number with its unit")


def _readable(text: str) -> None:
    """Refuse a text whose signs would read as another number than the one they show."""
    _short(text)
    note = refusals.marked(text)
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
    for mark in amounts.MARKS:
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
    found = amounts.read((about["before"] or about["after"]) if about else tidy, mark)
    if found is None:
        found = amounts.said_twice(tidy, mark)
    if found is None:
        raise refusals.refusal(text, mark)
    low, high = (amounts.checked(convert(*amount), text) for amount in (found[0], found[-1]))
    if low > high:
        raise CellError(f"the range {text.strip()!r} runs backwards", "write the lower value first")
    given: Given = "exact" if low == high else "range"
    if about and given == "exact":
        reach = ABOUT * abs(low)
        return Quantity(low - reach, high + reach, "about", text.strip())
    return Quantity(low, high, given, text.strip())


def _not_negative(quantity: Quantity) -> Quantity:
    if quantity.low is not None and quantity.low < 0:
        raise NegativeValue(f"{quantity.text!r} is below nought", "write a value of nought or more")
    return quantity
