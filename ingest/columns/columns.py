"""From a column of text to a column of values: each distinct text is parsed once.

A column comes out as an array with NaN or None where a cell says nothing, and a finding for each row whose cell cannot
be read. Nothing is corrected on the way.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.ceilings import MOST_REFUSED
from evener.ingest.columns.field_cells import (
    COUNTED_IN_THOUSANDS,
    Cell,
    Setting,
    bounded,
    bounds,
    number,
    parser,
    plain_text,
    unit_of_bare,
    unreadable,
    without_apostrophe,
    without_currency,
)
from evener.ingest.columns.headers import Match
from evener.ingest.finding import MOST_LINES
from evener.ingest.findings import Finding
from evener.ingest.text import cell_errors, cells, refusals
from evener.ingest.text.held_values import Values, Words
from evener.ingest.text.plain_cells import plain_names, plain_numbers
from evener.ingest.text.texts import Texts
from evener.schema import units
from evener.schema.fields import Field
from evener.schema.units import Measures

Lines = Sequence[int] | NDArray[np.int64]

_USUAL = Setting()
_STORED = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")  # as a typed number is written


@dataclass
class Column:
    """One field's values over all rows.

    Attributes
    ----------
    field : which field
    values : numbers or words, blank where nothing is said
    upper : values of `field.upper` from ranges, in the same form
    about : rows whose cell says about
    findings : what is wrong, by row
    unread : rows whose cell is left unknown
    remarks : what must be said of cells that were read, by the first row of each text
    """

    field: Field
    values: Values
    upper: Values | None = None
    about: NDArray[np.bool_] | None = None
    findings: list[tuple[int, Finding]] = dataclasses.field(default_factory=list)
    unread: NDArray[np.bool_] | None = None
    remarks: list[tuple[int, Finding]] = dataclasses.field(default_factory=list)


def decimal_mark(
    columns: Sequence[tuple[Match, Texts]], measures: Measures = "us", *, typed: bool = False
) -> cells.DecimalMark:
    """Return the decimal mark of a file, or "" when its cells do not settle it.

    Cells that can be read with one mark only settle it for the whole file: 1,234.5 and 2.5 want a point, 3,05 a comma.
    Where there are none, the bounds of the fields speak: a tractor weighs 6,950 lb, never 6.95 lb. Where cells speak
    against each other, nothing is settled.

    Parameters
    ----------
    columns : what each column of numbers means, and its cells
    measures : what a bare gallon, ton, hundredweight or bushel means
    typed : whether numbers come with their type, so that a plain one with a point says nothing of the text beside it
    """
    numbers = [
        (match, match.field, texts)
        for match, texts in columns
        if match.field is not None and match.field.kind in ("number", "integer")
    ]
    marks: set[cells.DecimalMark] = set()
    for _, _, texts in () if typed else numbers:
        plain = plain_numbers(texts.packed)
        marks |= plain.marks()
        for place in np.flatnonzero(~plain.readable("") & ~plain.grouped).tolist():
            marks.add(cells.decimal_mark(without_currency(texts.distinct[place])))
    marks.discard("")
    if not marks:
        for match, meant, texts in numbers:
            for place in np.flatnonzero(~plain_numbers(texts.packed).whole).tolist():
                text = without_currency(texts.distinct[place])
                if ("," in text or "." in text) and not (typed and _STORED.fullmatch(text)):
                    marks |= _marks_withinbounds(match, meant, text, measures)
            if len(marks) > 1:
                break
    return marks.pop() if len(marks) == 1 else ""


def _marks_withinbounds(match: Match, meant: Field, text: str, measures: Measures) -> set[cells.DecimalMark]:
    marks: tuple[cells.DecimalMark, ...] = (".", ",")
    fitting = {
        mark
        for mark in marks
        if bounded(match, meant, text, number(match, meant, text, Setting(mark, measures)), measures).problem is None
    }
    return fitting if len(fitting) == 1 else set()


def read_column(
    match: Match,
    texts: Texts,
    *,
    setting: Setting = _USUAL,
    words: Mapping[str, str] | None = None,
    lines: Lines,
) -> Column | Finding:
    """Return a column's values, or the one finding that concerns it whole.

    Parameters
    ----------
    match : what the column means; it must have a field
    texts : its cells
    setting : how the file's cells are to be read
    words : spellings of the words allowed, folded; those of the field when left out
    lines : line of the file of each row
    """
    meant = match.field
    if meant is None:
        raise ValueError(f"column {match.header!r} has no field")
    if meant.kind == "text" and words is None and not meant.choice_spellings:
        return _text_column(match, meant, texts, lines)
    texts = _without_apostrophes(texts)
    if meant.kind in ("number", "integer"):
        if _lacks_unit(match, texts, setting):
            example = f"{match.header} ({units.us(meant.unit, field=meant.name)[0]})"
            return findings.NoUnit(column=match.header, values={"example": example, "field": meant.name})
        return _number_column(match, meant, texts, setting, lines)
    parse = parser(match, meant, setting, words)
    parsed = [
        Cell() if cells.is_missing(text) else bounded(match, meant, text, parse(text), setting.measures)
        for text in texts.distinct
    ]
    column = Column(meant, Words.coded(texts.codes, [cell.value for cell in parsed]))
    if any(cell.upper is not None for cell in parsed):
        column.upper = Words.coded(texts.codes, [cell.upper for cell in parsed])
    _note(column, match, texts, dict(enumerate(parsed)), lines)
    return column


def _without_apostrophes(texts: Texts) -> Texts:
    """Return the texts without the apostrophe that lists for spreadsheets put before what would run as a formula."""
    if not (texts.signs[:, 0] == ord("'")).any():
        return texts
    return Texts(texts.codes, [without_apostrophe(text) for text in texts.distinct])


def _number_column(match: Match, meant: Field, texts: Texts, setting: Setting, lines: Lines) -> Column:
    """Return a column of numbers: the plain ones all at once, each other text by the grammar."""
    plain = plain_numbers(texts.packed)
    unit = unit_of_bare(match, meant)
    values = np.full(texts.distinct_count, np.nan)
    low, high = bounds(meant)
    done = np.zeros(len(values), bool)
    if unit is not None:
        factor = units.factor(unit, meant.unit, measures=setting.measures) if unit else 1.0
        converted = plain.values * factor
        done = plain.readable(setting.decimal) & (low <= converted) & (converted <= high)
        if meant.unit == "currency" or meant.name in COUNTED_IN_THOUSANDS:
            done &= ~plain.grouped
        if meant.kind == "integer":
            done &= plain.values == np.floor(plain.values)
        values[done] = converted[done]
    parsed: dict[int, Cell] = {}
    for place in np.flatnonzero(~done).tolist():
        text = texts.distinct[place]
        if not cells.is_no_figure(text):
            cell = number(match, meant, text, setting)
            parsed[place] = bounded(match, meant, text, cell, setting.measures)
            if parsed[place].value is not None:
                values[place] = parsed[place].value
    column = Column(meant, values[texts.codes])
    if any(cell.upper is not None for cell in parsed.values()):
        upper = np.full(len(values), np.nan)
        for place, cell in parsed.items():
            upper[place] = np.nan if cell.upper is None else cell.upper
        column.upper = upper[texts.codes]
    if any(cell.about for cell in parsed.values()):
        about = np.zeros(len(values), bool)
        about[[place for place, cell in parsed.items() if cell.about]] = True
        column.about = about[texts.codes]
    _note(column, match, texts, parsed, lines)
    return column


def _text_column(match: Match, meant: Field, texts: Texts, lines: Lines) -> Column:
    held: list[str | None] = list(texts.distinct)
    formulas: dict[int, Cell] = {}
    odd = np.flatnonzero(~plain_names(texts.packed)).tolist()
    for place in odd:
        text = texts.distinct[place]
        held[place] = plain_text(text)
        turned = refusals.turned_error(text) if text[:1] == "=" else None
        if turned is not None:
            # A formula that was never worked out stands as its own text; it is nobody's name.
            formulas[place] = unreadable(turned)
    # Names that all stand as they are differ from each other, and need not be told apart again.
    words = Words.coded(texts.codes, held) if odd else Words(texts.codes, held)
    column = Column(meant, words)
    _note(column, match, texts, formulas, lines)
    return column


def _note(column: Column, match: Match, texts: Texts, parsed: Mapping[int, Cell], lines: Lines) -> None:
    """Note the cells that cannot be read, one finding a row, and those whose reading must be said, one a text."""
    wrong = np.zeros(texts.distinct_count, bool)
    wrong[[place for place, cell in parsed.items() if cell.problem is not None]] = True
    if wrong.any():
        column.unread = texts.rows_of(wrong)
        for row in np.flatnonzero(column.unread)[: MOST_REFUSED + 1].tolist():
            problem = parsed[int(texts.codes[row])].problem
            if problem is not None:
                kind, values = problem
                found = kind(row=int(lines[row]), column=match.header, raw=texts[row], values=values)
                column.findings.append((row, found))
    for place, cell in parsed.items():
        if cell.remark is not None:
            kind, values = cell.remark
            rows = np.flatnonzero(texts.codes == place)
            told = tuple(int(lines[row]) for row in rows[:MOST_LINES])
            if told:
                found = kind(
                    row=told[0],
                    column=match.header,
                    raw=texts.distinct[place],
                    values=values,
                    count=len(rows),
                    lines=told,
                )
                column.remarks.append((int(rows[0]), found))


def _lacks_unit(match: Match, texts: Texts, setting: Setting) -> bool:
    """Tell whether a whole column of numbers has no unit: one finding then, not one for each row."""
    meant = match.field
    if meant is None or not meant.is_measured or match.unit or not units.known(meant.unit):
        return False
    plain = plain_numbers(texts.packed).readable(setting.decimal)
    bare = int(plain.sum())
    for place in np.flatnonzero(~plain).tolist():
        text = texts.distinct[place]
        if cells.is_no_figure(text):
            continue
        try:
            cells.read_number(text, decimal=setting.decimal)
        except cell_errors.CellError:
            return False
        bare += 1
    return bare > 0
