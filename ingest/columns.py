"""From a column of text to a column of values: each distinct text is parsed once.

A column comes out as an array with NaN or None where a cell says nothing, and a finding for each row whose cell cannot
be read. Nothing is corrected on the way.
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evener.ingest import cells, findings
from evener.ingest.findings import Finding
from evener.ingest.headers import Match, fold
from evener.schema import units
from evener.schema.fields import Field

Array = NDArray[Any]

ABOUT = "the cell says about, +-20 %"
_CURRENCY = "$€£"
_PARTS = re.compile(r"\s*(?:[;/|,&+]|\band\b|\bto\b|(?<=\w)-(?=\w)|\s-\s)\s*")
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
    """

    value: Any = None
    upper: Any = None
    about: bool = False
    problem: tuple[type[Finding], dict[str, Any]] | None = None


@dataclass
class Column:
    """One field's values over all rows.

    Attributes
    ----------
    field : which field
    values : floats with NaN, or objects with None, where nothing is said
    upper : values of `field.upper` from ranges, in the same form
    about : rows whose cell says about
    findings : what is wrong, by row
    """

    field: Field
    values: Array
    upper: Array | None = None
    about: NDArray[np.bool_] | None = None
    findings: list[tuple[int, Finding]] = dataclasses.field(default_factory=list)


def decimal_mark(columns: Sequence[tuple[Match, Sequence[str]]]) -> cells.DecimalMark:
    """Return the decimal mark of a file, or "" when its cells do not settle it.

    Cells that can be read with one mark only settle it for the whole file: 1,234.5 and 2.5 want a point, 3,05 a comma.
    Where there are none, the bounds of the fields speak: a tractor weighs 6,950 lb, never 6.95 lb. Where cells speak
    against each other, nothing is settled.
    """
    numbers = [
        (match, match.field, {text.strip().strip(_CURRENCY) for text in set(texts)})
        for match, texts in columns
        if match.field is not None and match.field.kind in ("number", "integer")
    ]
    marks = {cells.decimal_mark(text) for _, _, texts in numbers for text in texts} - {""}
    if not marks:
        marks = {
            mark
            for match, meant, texts in numbers
            for text in texts
            if "," in text or "." in text
            for mark in _marks_within_bounds(match, meant, text)
        }
    return marks.pop() if len(marks) == 1 else ""


def _marks_within_bounds(match: Match, meant: Field, text: str) -> set[cells.DecimalMark]:
    marks: tuple[cells.DecimalMark, ...] = (".", ",")
    fitting = {
        mark for mark in marks if _bounded(match, meant, text, _number(match, meant, text, mark)).problem is None
    }
    return fitting if len(fitting) == 1 else set()


def read_column(
    match: Match,
    texts: Sequence[str],
    *,
    decimal: cells.DecimalMark = ".",
    words: Mapping[str, str] | None = None,
    lines: Sequence[int],
) -> Column | Finding:
    """Return a column's values, or the one finding that concerns it whole.

    Parameters
    ----------
    match : what the column means; it must have a field
    texts : its cells
    decimal : decimal mark of the file
    words : spellings of the words allowed, folded; those of the field when left out
    lines : line of the file of each row
    """
    meant = match.field
    if meant is None:
        raise ValueError(f"column {match.header!r} has no field")
    distinct = list(dict.fromkeys(texts))
    places = {text: place for place, text in enumerate(distinct)}
    codes = np.fromiter(map(places.__getitem__, texts), np.int64, len(texts))
    if _lacks_unit(match, distinct, decimal):
        example = f"{match.header} ({units.us(meant.unit, field=meant.name)[0]})"
        return findings.NoUnit(column=match.header, values={"example": example})
    parse = _parser(match, meant, decimal, words)
    parsed = [Cell() if cells.is_missing(text) else _bounded(match, meant, text, parse(text)) for text in distinct]
    column = Column(meant, _spread(meant, [cell.value for cell in parsed], codes))
    if any(cell.upper is not None for cell in parsed):
        column.upper = _spread(meant, [cell.upper for cell in parsed], codes)
    if any(cell.about for cell in parsed):
        column.about = np.array([cell.about for cell in parsed])[codes]
    wrong = np.array([cell.problem is not None for cell in parsed], bool)[codes]
    for row in map(int, np.flatnonzero(wrong)):
        problem = parsed[codes[row]].problem
        if problem is not None:
            kind, values = problem
            column.findings.append((row, kind(row=lines[row], column=match.header, raw=texts[row], values=values)))
    return column


def near(word: str, known: Sequence[str]) -> str:
    """Return a hint that names the nearest words, or nothing."""
    close = get_close_matches(word, known, n=2, cutoff=0.6)
    return f"; did you mean {' or '.join(close)}?" if close else ""


def _spread(meant: Field, values: list[Any], codes: NDArray[np.int64]) -> Array:
    if meant.kind in ("number", "integer"):
        return np.array([np.nan if value is None else value for value in values], float)[codes]
    held = np.empty(len(values), object)
    held[:] = values
    return held[codes]


def _lacks_unit(match: Match, distinct: list[str], decimal: cells.DecimalMark) -> bool:
    """Tell whether a whole column of numbers has no unit: one finding then, not one for each row."""
    meant = match.field
    if meant is None or not meant.is_measured or match.unit or not units.known(meant.unit):
        return False
    bare = 0
    for text in distinct:
        if cells.is_missing(text):
            continue
        try:
            cells.read_number(text, decimal=decimal)
        except cells.CellError:
            return False
        bare += 1
    return bare > 0


def _parser(
    match: Match, meant: Field, decimal: cells.DecimalMark, words: Mapping[str, str] | None
) -> Callable[[str], Cell]:
    spelled = words if words is not None else {fold(key): word for key, word in meant.choice_spellings.items()}
    if spelled or meant.kind == "choice":
        return lambda text: _word(meant, text, spelled)
    if meant.kind == "list":
        return lambda text: _list(meant, text)
    if meant.kind == "json":
        return _json
    if meant.kind == "text":
        return lambda text: Cell(text.strip())
    return lambda text: _number(match, meant, text, decimal)


def _unreadable(error: cells.CellError) -> Cell:
    return Cell(problem=(findings.UnreadableCell, {"problem": error.message, "cure": error.fix}))


def _number(match: Match, meant: Field, text: str, decimal: cells.DecimalMark) -> Cell:
    try:
        if meant.kind == "integer" or not meant.unit or meant.unit == "currency" or not units.known(meant.unit):
            plain = text.strip().strip(_CURRENCY) if meant.unit == "currency" else text
            value = cells.read_number(plain, decimal=decimal)
            if meant.kind == "integer" and not value.is_integer():
                return Cell(problem=_not_whole(text))
            return Cell(value)
        default = match.unit or (None if meant.is_measured else meant.unit)
        quantity = cells.read_quantity(text, meant.unit, default_unit=default, decimal=decimal)
    except cells.CellError as error:
        return _unreadable(error)
    if quantity.given == "range" and not meant.upper:
        return Cell(problem=(findings.RangeNotKept, {"field": meant.name}))
    if quantity.given == "range":
        return Cell(quantity.low, quantity.high)
    return Cell(quantity.middle, about=quantity.given == "about")


def _not_whole(text: str) -> tuple[type[Finding], dict[str, Any]]:
    return findings.UnreadableCell, {"problem": f"{text.strip()!r} is no whole number", "cure": "write a whole number"}


def _word(meant: Field, text: str, spelled: Mapping[str, str]) -> Cell:
    def known(part: str) -> str | None:
        folded = fold(part)
        return spelled.get(folded) or spelled.get(_CATEGORY.sub("", folded))

    word = known(text)
    if word is not None:
        return Cell(word)
    ends = [known(part) for part in _PARTS.split(_CATEGORY.sub("", text.strip().casefold()))]
    if len(ends) == 2 and all(ends):
        if meant.upper:
            return Cell(ends[0], ends[1])
        return Cell(problem=(findings.RangeNotKept, {"field": meant.name}))
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
            quantity = cells.read_quantity(part, meant.unit, default_unit=meant.unit)
        except cells.CellError as error:
            return _unreadable(error)
        if quantity.given != "exact" or quantity.low is None:
            return Cell(problem=(findings.RangeNotKept, {"field": meant.name}))
        if meant.item == "integer" and not quantity.low.is_integer():
            return Cell(problem=_not_whole(part))
        values.append(quantity.low)
    return Cell([int(value) for value in values] if meant.item == "integer" else values)


def _json(text: str) -> Cell:
    try:
        held = json.loads(text)
    except (ValueError, RecursionError):
        held = None
    if not isinstance(held, dict) or not all(isinstance(value, str) for value in held.values()):
        return Cell(
            problem=(findings.UnreadableCell, {"problem": "no JSON of texts by field", "cure": "leave it blank"})
        )
    return Cell(json.dumps(held, sort_keys=True) if held else None)


def _bounded(match: Match, meant: Field, text: str, cell: Cell) -> Cell:
    held = cell.value if isinstance(cell.value, list) else [cell.value, cell.upper]
    for value in held:
        if not isinstance(value, int | float):
            continue
        low = -np.inf if meant.low is None else meant.low
        high = np.inf if meant.high is None else meant.high
        if not low <= value <= high:
            unit = f" {meant.unit}" if meant.unit not in ("", "1", "currency") else ""
            return Cell(
                problem=(
                    findings.OutOfBounds,
                    {
                        "value": value,
                        "unit": unit,
                        "low": low,
                        "high": high,
                        "suspect": _suspect(match, meant, text, value),
                    },
                )
            )
    return cell


def _suspect(match: Match, meant: Field, text: str, value: float) -> str:
    """Name the units in which the same number would be within bounds."""
    if match.unit is None or meant.kind == "list" or not meant.is_measured or re.search(r"[^\d.,\s]", text):
        return ""
    written = value / units.factor(match.unit, meant.unit)
    fitting = [
        symbol
        for symbol in units.symbols(meant.unit)
        if symbol != match.unit
        and (meant.low or 0) <= written * units.factor(symbol, meant.unit) <= (meant.high or np.inf)
    ]
    return f"; was it in {' or '.join(fitting[:3])}?" if fitting else ""
