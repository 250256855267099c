"""Columns put in their fields' places: ranges at both ends, currencies, what was given for the whole file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.columns.columns import Column
from evener.ingest.columns.headers import Match
from evener.ingest.rows import marks
from evener.ingest.rows.known import Known
from evener.ingest.rows.rows import Rows
from evener.ingest.text import money
from evener.ingest.text.held_values import Values, Words, blanks, is_blank
from evener.schema import fields
from evener.schema.certainty import ABOUT
from evener.schema.identity import near_owner, plain_owner

_FEW = 50  # new owners of one list whose names are held against the known ones


def _positions(mask: NDArray[np.bool_]) -> list[int]:
    return [int(position) for position in np.flatnonzero(mask)]


def place(rows: Rows, read: Sequence[tuple[Match, Column]]) -> list[marks.Mark]:
    """Put every column in its field's place, ranges at both their ends, and blanks where the file has no column.

    Returns what is to be marked as estimated.
    """
    noted: list[marks.Mark] = []
    rows.values = blanks(fields.of(rows.record).values(), rows.count)
    for _, column in read:
        rows.values[column.field.name] = column.values
        rows.take_findings(column)
    for one, column in read:
        if column.upper is not None and column.field.upper is not None:
            _place_upper(rows, one, column.field.upper, column.upper)
        if column.about is not None:
            if "estimated" in rows.values:
                noted.append(marks.Mark(column.about, column.field.name, ABOUT))
            else:
                for position in _positions(column.about):
                    _refuse_range(rows, one, position)
        if one.field is not None and one.field.unit == "currency" and "currency" in rows.values:
            _place_currency(rows, one)
        for name, value in one.implies.items():
            held = rows.values[name]
            if isinstance(held, Words):
                rows.values[name] = held.filled(~is_blank(column.values) & is_blank(held), value)
    return noted


def _place_currency(rows: Rows, one: Match) -> None:
    """Put the currency that the cells of a price name, else the one its heading names, where no column says it."""
    held, column = rows.values["currency"], rows.table.columns[one.position]
    if not isinstance(held, Words):
        raise TypeError("a currency is a word")
    usual = money.currency(one.unit or one.header)
    said = Words.coded(column.codes, [money.currency(text) or usual for text in column.distinct])
    priced = ~is_blank(rows.values[one.field.name if one.field else "price"]) & is_blank(held)
    for code in {word for word in said.words if word}:
        held = held.filled(priced & said.is_word(code), code)
    rows.values["currency"] = held


def _place_upper(rows: Rows, one: Match, name: str, upper: Values) -> None:
    """Put the upper ends of ranges in their field; a row that states both a range and an upper end says two things."""
    ends = rows.values[name]
    given = ~is_blank(upper)
    for position in _positions(given & ~is_blank(ends)):
        _refuse_range(rows, one, position)
    if isinstance(upper, Words) and isinstance(ends, Words):
        for word in upper.words:
            ends = ends.filled(upper.is_word(word), word)
        rows.values[name] = ends
    elif not isinstance(upper, Words) and not isinstance(ends, Words):
        rows.values[name] = np.where(given, upper, ends)


def _refuse_range(rows: Rows, one: Match, position: int) -> None:
    text = rows.table.columns[one.position][position]
    name = one.field.name if one.field else ""
    line = int(rows.table.lines[position])
    problem = findings.RangeNotKept(row=line, column=one.header, raw=text, values={"field": name})
    rows.refuse(position, problem)


def fill(rows: Rows, given: Mapping[str, str]) -> None:
    """Put what was given for the whole file, by field, where the rows themselves are silent."""
    for name, value in given.items():
        held = rows.values[name]
        if isinstance(held, Words):
            rows.values[name] = held.filled(is_blank(held), value)


def spell_owners(rows: Rows, known: Known) -> None:
    """Write each owner as the store has it, where the spellings differ in case and blanks alone, or a person said so.

    A new owner whose name is near a known one's is asked, and stays an owner of his own until a person says otherwise.
    """
    held = rows.values.get("owner")
    if not isinstance(held, Words):
        return
    words = [known.owners.get(plain_owner(word), word) for word in held.words]
    for said, owner in zip(held.words, words, strict=True):
        if said != owner and plain_owner(said) == plain_owner(owner):
            rows.findings.append(findings.OwnerSpelled(values={"said": said, "owner": owner}))
    new = [word for word in words if plain_owner(word) not in known.owners]
    for said in new if len(new) <= _FEW else ():
        near = near_owner(said, known.owners)
        if near is not None:
            rows.findings.append(findings.OwnerNear(values={"said": said, "owner": near}))
    if words != list(held.words):
        rows.values["owner"] = Words.coded(held.codes, words)
        rows.owner = known.owners.get(plain_owner(rows.owner), rows.owner) if rows.owner else None
