"""One cell of one field: a number in the store's unit, a word of the trade, a list, or the finding it is."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

import numpy as np

from evener.ingest import findings
from evener.ingest.columns.headers import Match, fold
from evener.ingest.findings import Finding
from evener.ingest.text import cell_errors, cells, money, refusals, sets
from evener.schema import certainty, fields, printable, units
from evener.schema.fields import Field
from evener.schema.units import Measures

_CURRENCY = "$€£"
_PARTS = re.compile(r"\s*(?:[;/|,&+]|\band\b|\bto\b|(?<=\w)-(?=\w)|\s-\s)\s*")
_LARGEST_TAKES_ALL = frozenset({"hitch_category"})
AMOUNT = 'write an amount of money, such as "11,900" or "11900"; leave it empty where none is asked'
_LISTED = re.compile(r"\s*[;/|,&+]\s*|\s+and\s+")
# Before a linkage category the trade writes the word or not.
_CATEGORY = re.compile(r"^(?:cat|category)\b\W*|^cat(?=\d|i)")


@dataclass(frozen=True)
class Cell:
    """What one text says.

    Attributes
    ----------
    value : the value, or None when the text says that there is none
    upper : the upper end, when the text is a range the record keeps
    about : whether the text gives the value as about so much
    problem : the finding the text is, and what it names
    remark : what must be said of how the text was read
    """

    value: Any = None
    upper: Any = None
    about: bool = False
    problem: tuple[type[Finding], dict[str, Any]] | None = None
    remark: tuple[type[Finding], dict[str, Any]] | None = None


@dataclass(frozen=True)
class Setting:
    """How the cells of one file are to be read.

    Attributes
    ----------
    decimal : decimal mark, or "" when it is not known
    measures : what a bare gallon, ton, hundredweight or bushel means
    """

    decimal: cells.DecimalMark = "."
    measures: Measures = "us"


# Blanks that pages and word processors put between words that are not to be parted.
_BLANKS = dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f"), " ")
_WITH_UNIT = re.compile(r"(?P<number>.*\d) ?(?P<unit>[^\W\d_]+\.?)")
_SHORT_COUNT = re.compile(r"\s*(?P<number>\d[\d.,]* ?[kK])(?: ?(?P<unit>[^\W\d_]+\.?))?\s*")
# "Sold 3/14": the day on which it came to be so.
DATED = frozenset({"stock_status"})
_DATE_BEHIND = re.compile(r"[\s,:-]+(?:on )?\d[\d./-]*$")
# Three figures behind a mark are thousands: no meter shows thousandths of an hour.
COUNTED_IN_THOUSANDS = frozenset({"meter_hours_h"})


def near(word: str, known: Sequence[str]) -> str:
    """Return a hint that names the nearest words, or nothing."""
    close = get_close_matches(word, known, n=2, cutoff=0.6)
    return f"; did you mean {' or '.join(close)}?" if close else ""


def without_currency(text: str) -> str:
    """Return a text without the currency sign before or after it."""
    return text.strip().strip(_CURRENCY)


def unit_of_bare(match: Match, meant: Field) -> str | None:
    """Return the unit of a column's bare numbers, "" for counts, or None where each cell must give its own."""
    if is_counted(meant):
        return ""
    return match.unit or (None if meant.is_measured else meant.unit)


def is_counted(meant: Field) -> bool:
    """Tell whether a field is a count or a bare number, which takes no unit."""
    return meant.kind == "integer" or not meant.unit or meant.unit == "currency" or not units.known(meant.unit)


def plain_text(text: str) -> str | None:
    """Return a text as it is kept, its blanks plain ones, or None when it says that there is none."""
    bare = without_apostrophe(text.translate(_BLANKS).strip())
    return None if cells.is_missing(bare) else bare


def without_apostrophe(text: str) -> str:
    """Return a text without the apostrophe that lists for spreadsheets put before what would run as a formula."""
    return text[1:] if text[:1] == "'" and printable.runs_as_formula(text[1:]) else text


def parser(match: Match, meant: Field, setting: Setting, words: Mapping[str, str] | None) -> Callable[[str], Cell]:
    """Return what reads one text of a field; `words` are the spellings allowed, where they are not the field's own."""
    spelled = words if words is not None else {fold(key): word for key, word in meant.choice_spellings.items()}
    if spelled or meant.kind == "choice":
        return lambda text: _word(meant, text, spelled)
    if meant.kind == "list":
        return lambda text: _list(meant, text)
    if meant.kind == "certainty":
        return lambda text: _certainty(meant, text)
    return lambda text: number(match, meant, text, setting)


def unreadable(error: cell_errors.CellError) -> Cell:
    """Return the cell that an error of the grammar is."""
    kind = findings.FootnoteMark if isinstance(error, cell_errors.FootnoteMark) else findings.UnreadableCell
    return Cell(problem=(kind, {"problem": error.message, "remedy": error.remedy}))


def number(match: Match, meant: Field, text: str, setting: Setting) -> Cell:
    """Return what a text says as a number in the unit of its field."""
    try:
        if is_counted(meant):
            money_said = meant.unit == "currency"
            plain = money.amount(text) if money_said else text
            value = cells.read_number(plain, decimal="." if money_said and plain != text else setting.decimal)
            if meant.kind == "integer" and not value.is_integer():
                return Cell(problem=_not_whole(text))
            return Cell(value)
        if meant.name in COUNTED_IN_THOUSANDS:
            text = _counted_in_full(text)
            parted = _WITH_UNIT.fullmatch(text.strip())
            counted, unit = (parted["number"], parted["unit"]) if parted else (text.strip(), "")
            if money.thousands(counted) != counted and (not unit or units.known(unit)):
                text = f"{money.thousands(counted)} {unit}".strip()
        told = sets.without_pto(text) if "pto" in meant.name else text
        quantity = cells.read_quantity(
            sets.without_least(told) if meant.upper else told,
            meant.unit,
            default_unit=unit_of_bare(match, meant),
            decimal=setting.decimal,
            measures=setting.measures,
        )
    except cell_errors.CellError as error:
        if meant.unit == "currency" and not isinstance(error, cell_errors.FootnoteMark):
            return Cell(problem=(findings.UnreadableCell, {"problem": error.message, "remedy": AMOUNT}))
        return unreadable(error)
    if quantity.given == "range" and not meant.upper:
        return Cell(problem=(findings.RangeNotKept, {"field": meant.name}))
    if quantity.given == "range":
        return Cell(quantity.low, quantity.high)
    return Cell(quantity.middle, about=quantity.given == "about")


def without_date(text: str) -> str:
    """Return a text without the day behind it: "sold 3/14"."""
    return _DATE_BEHIND.sub("", text)


def _counted_in_full(text: str) -> str:
    """Return "1.2k h" as about 1200 h: what is written so short is rounded."""
    short = _SHORT_COUNT.fullmatch(text)
    full = money.in_full(short["number"]) if short else ""
    return f"about {full} {short['unit'] or ''}".strip() if short and full != short["number"] else text


def _not_whole(text: str) -> tuple[type[Finding], dict[str, Any]]:
    return findings.UnreadableCell, {
        "problem": f"{text.strip()!r} is no whole number",
        "remedy": "write a whole number",
    }


def _word(meant: Field, text: str, spelled: Mapping[str, str]) -> Cell:
    def known(part: str) -> str | None:
        folded = fold(part)
        return spelled.get(folded) or spelled.get(_CATEGORY.sub("", folded)) or spelled.get(_kind_of_gears(part))

    def _kind_of_gears(part: str) -> str:
        return fold(sets.without_gears(part)) if meant.name == "transmission" else ""

    word = known(text)
    marked = refusals.marked(text)
    if marked is not None:
        # Folded away, a raised two would make a 2 of nothing, or nothing of a note.
        return unreadable(marked)
    if word is None and meant.name in DATED:
        word = known(without_date(text))
    if word is not None:
        return Cell(word)
    ends = [known(part) for part in _PARTS.split(_CATEGORY.sub("", text.strip().casefold()))]
    if len(ends) == 2 and all(ends):
        if meant.upper:
            return Cell(ends[0], ends[1])
        if meant.name in _LARGEST_TAKES_ALL:
            told = {"value": ends[1], "because": "the larger one, since bushings make the smaller of it"}
            return Cell(ends[1], remark=(findings.ReadAs, told))
        return Cell(problem=(findings.RangeNotKept, {"field": meant.name}))
    turned = refusals.turned_error(text)
    if turned is not None:
        return unreadable(turned)
    if meant.choices:
        return Cell(problem=(findings.UnknownWord, {"choices": ", ".join(meant.choices)}))
    names = sorted(set(spelled.values()))
    hint = near(fold(text).replace(" ", "_"), names)
    return Cell(problem=(findings.UnknownReference, {"target": meant.name, "near": hint, "listed": "families"}))


def _list(meant: Field, text: str) -> Cell:
    parts = [part for part in _LISTED.split(text.strip()) if part]
    if meant.item == "text":
        return Cell(parts)
    values: list[float] = []
    for part in parts:
        try:
            told = sets.without_economy(part) if meant.unit == "rpm" else part
            quantity = cells.read_quantity(told, meant.unit, default_unit=meant.unit)
        except cell_errors.CellError as error:
            return unreadable(error)
        if quantity.given != "exact" or quantity.low is None:
            return Cell(problem=(findings.RangeNotKept, {"field": meant.name}))
        if meant.item == "integer" and not quantity.low.is_integer():
            return Cell(problem=_not_whole(part))
        values.append(quantity.low)
    values = list(dict.fromkeys(values))
    return Cell([int(value) for value in values] if meant.item == "integer" else values)


def _certainty(meant: Field, text: str) -> Cell:
    remedy = (
        f'leave it blank, or write what a value rests on by its field: {{"{_example(meant)}": "read off a worn plate"}}'
    )
    try:
        held = json.loads(text)
        if not isinstance(held, dict):
            raise TypeError  # noqa: TRY301
        strange = sorted(held.keys() - fields.of(meant.record).keys())
        if strange:
            problem = f"{strange[0]!r} is no field of {meant.record}"
            return Cell(problem=(findings.UnreadableCell, {"problem": problem, "remedy": remedy}))
        return Cell(certainty.text(certainty.read(held)))
    except (TypeError, RecursionError, json.JSONDecodeError):
        problem = "it is no JSON by field"
    except ValueError as error:
        problem = str(error)
    return Cell(problem=(findings.UnreadableCell, {"problem": problem, "remedy": remedy}))


def _example(meant: Field) -> str:
    return next(name for name, field in fields.of(meant.record).items() if field.kind == "number")


def bounds(meant: Field) -> tuple[float, float]:
    """Return the bounds of a field, both inclusive, in its own unit."""
    return -np.inf if meant.low is None else meant.low, np.inf if meant.high is None else meant.high


def bounded(match: Match, meant: Field, text: str, cell: Cell, measures: Measures) -> Cell:
    """Return a cell, or the finding it is where a value is beyond what any machine has."""
    held = cell.value if isinstance(cell.value, list) else [cell.value, cell.upper]
    low, high = bounds(meant)
    for value in held:
        if isinstance(value, int | float) and not low <= value <= high:
            values = {
                "value": value,
                "unit": f" {meant.unit}" if meant.unit not in ("", "1", "currency") else "",
                "low": low,
                "high": high,
                "suspect": _suspect(match, meant, text, value, measures),
            }
            return Cell(problem=(findings.OutOfBounds, values))
    return cell


def _suspect(match: Match, meant: Field, text: str, value: float, measures: Measures) -> str:
    """Name the units in which the same number would be within bounds."""
    if not meant.is_measured or meant.kind == "list" or not units.known(meant.unit):
        return ""
    written = cells.written_unit(text, match.unit)
    if written is None:
        return ""
    low, high = bounds(meant)
    number = value / units.factor(written, meant.unit, measures=measures)
    fitting = [
        symbol
        for symbol in units.symbols(meant.unit)
        if symbol != units.find(written).symbol
        and max(low, 0) <= number * units.factor(symbol, meant.unit, measures=measures) <= high
    ]
    return f"; was it in {' or '.join(fitting[:3])}?" if fitting else ""
