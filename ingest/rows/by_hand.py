"""Corrections by hand put in the place of what a list says, while it says what it said then.

Where the list has come to say another thing, the list's word stands and the correction is asked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.columns.columns import Column
from evener.ingest.columns.headers import OWN_HEADING, Match
from evener.ingest.files.readers import Table
from evener.ingest.rows import marks
from evener.ingest.rows.correction import Correction, own_number, plain, same, shown
from evener.ingest.rows.rows import Rows
from evener.ingest.text.held_values import Values, Words, put
from evener.schema import fields

if TYPE_CHECKING:
    from evener.ingest.rows.known import Known

_SHOWN = 6


@dataclass(frozen=True)
class Late:
    """A correction of a field that the list has no column for."""

    position: int
    field: str
    value: Any


def into_columns(rows: Rows, read: Sequence[tuple[Match, Column]], known: Known) -> tuple[list[marks.Mark], list[Late]]:
    """Put the corrections that hold into the columns of a list, and ask those that the list speaks against now.

    Parameters
    ----------
    rows : the rows, before their values are placed
    read : the columns that fill a field
    known : what the store holds, the corrections among it

    Returns
    -------
    tuple
        How sure the corrected values are, and the corrections of fields without a column.
    """
    held = known.corrections.get(rows.record, ())
    if not held or any(header.startswith(OWN_HEADING) for header in rows.table.headers):
        return [], []
    columns = {column.field.name: (match, column) for match, column in read}
    noted: list[marks.Mark] = []
    late: list[Late] = []
    told: list[str] = []
    for one in held:
        for position in _positions(one, rows, columns, known):
            if one.field not in columns:
                late.append(Late(position, one.field, one.value))
            else:
                match, column = columns[one.field]
                text, value = rows.table.columns[match.position][position], _at(column.values, position)
                if not one.still(text, value):
                    if not same(value, one.value):
                        _ask(rows, one, match, position)
                    continue
                _put(column, position, one.value)
            if one.sure is not None:
                noted.append(marks.Mark(_only(rows.count, position), one.field, one.sure))
            rows.by_hand.add((position, one.field))
            told.append(f"{one.field} of {one.number or plain(' '.join(one.row.values()))}")
    if told:
        named = ", ".join(told[:_SHOWN]) + (f" and {len(told) - _SHOWN} more" if len(told) > _SHOWN else "")
        rows.findings.append(findings.CorrectionsHold(values={"number": len(told), "named": named}))
    return noted, late


def rows_like(table: Table, row: Mapping[str, str]) -> list[int]:
    """Return the positions of the rows that say what a row said that was kept."""
    alike = np.ones(len(table.lines), bool)
    some = False
    for heading, column in zip(table.headers, table.columns, strict=False):
        if heading in row:
            codes = [code for code, text in enumerate(column.distinct) if plain(text) == row[heading]]
            alike &= np.isin(column.codes, codes)
            some = some or bool(row[heading])
    missing = any(text for heading, text in row.items() if heading not in table.headers)
    return np.flatnonzero(alike).tolist() if some and not missing else []


def _positions(one: Correction, rows: Rows, columns: Mapping[str, tuple[Match, Column]], known: Known) -> Iterator[int]:
    key = fields.keys(rows.record)[0]
    if one.number is None:
        found = rows_like(rows.table, one.row)
    else:
        names = columns[key][1].values if key in columns else None
        if not isinstance(names, Words):
            return
        number = one.number
        codes = [code for code, word in enumerate(names.words) if own_number(str(word), one.owner) == number]
        found = np.flatnonzero(np.isin(names.codes, codes)).tolist()
    owners = columns["owner"][1].values if "owner" in columns else None
    for position in found:
        owner = owners[position] if isinstance(owners, Words) else None
        if known.owner(owner or rows.owner) == known.owner(one.owner):
            yield position


def _at(values: Values, position: int) -> Any:
    value = values[position]
    return value if isinstance(values, Words) else float(value)


def _put(column: Column, position: int, value: Any) -> None:
    column.values = put(column.values, position, value)
    if column.upper is not None:
        column.upper = put(column.upper, position, None)
    for mask in (column.about, column.unread):
        if mask is not None:
            mask[position] = False
    column.findings = [one for one in column.findings if one[0] != position]


def _only(count: int, position: int) -> NDArray[np.bool_]:
    where = np.zeros(count, bool)
    where[position] = True
    return where


def _ask(rows: Rows, one: Correction, match: Match, position: int) -> None:
    was = repr(one.was_text) if one.was_text is not None else shown(rows.record, one.field, one.was_value)
    values = {
        "field": one.field,
        "name": one.number or "",
        "was": was,
        "said": shown(rows.record, one.field, one.value),
    }
    text = rows.table.columns[match.position][position]
    line = int(rows.table.lines[position])
    rows.refuse(position, findings.CorrectedBefore(row=line, column=match.header, raw=text, values=values))
