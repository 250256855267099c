"""Tractors and implements in one list, parted by row: by a column of kinds, by section, or by the sheet's name."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.columns.families import TYPE_HEADINGS, family_named, record_named, records_by_word
from evener.ingest.columns.headers import fold
from evener.ingest.files.readers import Table
from evener.ingest.files.sections import HEADING
from evener.ingest.text.texts import Texts

RECORDS = ("tractor", "implement")
_NONE = 2


def parted(table: Table, families: Mapping[str, str]) -> dict[str, Table]:
    """Return the rows of a list by the kind of record they are; a kind of which there is none is left out.

    A row that says of itself neither is refused, and asked.

    Parameters
    ----------
    table : the list
    families : family by folded name
    """
    meant = np.full(len(table.lines), _NONE)
    kinds = [place for place, header in enumerate(table.headers) if fold(header) in TYPE_HEADINGS]
    sections = [place for place, header in enumerate(table.headers) if header == HEADING]
    for place in (*kinds, *sections):
        said = _records(table.columns[place], families)
        meant = np.where(meant == _NONE, said[table.columns[place].codes], meant)
    whole = record_named(table.sheet, families) if table.sheet else None
    if whole is not None:
        meant[meant == _NONE] = RECORDS.index(whole)
    if (meant == _NONE).all():
        asked = findings.NeitherKind()
        return {RECORDS[0]: dataclasses.replace(table, findings=(*table.findings, asked))}
    parts = {record: _some(table, meant == place, kinds) for place, record in enumerate(RECORDS)}
    unsure = meant == _NONE
    told = {record: part for record, part in parts.items() if len(part.lines)}
    if unsure.any():
        first = next(iter(told), "tractor")
        told[first] = _with_unsure(told.get(first, parts[first]), table, unsure)
    return told


def without_other(table: Table, record: str, families: Mapping[str, str]) -> Table:
    """Return a list without the rows that say of themselves that they are of the other kind, which are refused.

    Parameters
    ----------
    table : the list
    record : kind of record it is read as
    families : family by folded name
    """
    if record not in RECORDS:
        return table
    other = 1 - RECORDS.index(record)
    rows = np.zeros(len(table.lines), bool)
    for place, header in enumerate(table.headers):
        if header == HEADING or fold(header) in TYPE_HEADINGS:
            column = table.columns[place]
            named = (_other_named(text, families) for text in column.distinct)
            said = np.array([_NONE if name is None else RECORDS.index(name) for name in named], np.int64)
            rows |= said[column.codes] == other
    if table.sheet and _other_named(table.sheet, families) == RECORDS[other]:
        rows[:] = True
    if not rows.any():
        return table
    lines = table.lines[rows].tolist()
    refused = {
        int(line): tuple(column[position] for column in table.columns)
        for line, position in zip(lines, np.flatnonzero(rows).tolist(), strict=True)
    }
    values = {"record": record, "other": RECORDS[other]}
    told = tuple(
        findings.OtherKind(row=line, raw=" | ".join(filter(None, cells)), values=values)
        for line, cells in refused.items()
    )
    return dataclasses.replace(
        table,
        columns=tuple(column.take(~rows) for column in table.columns),
        lines=table.lines[~rows],
        refused={**table.refused, **refused},
        findings=(*table.findings, *told),
    )


def _other_named(text: str, families: Mapping[str, str]) -> str | None:
    """Return the kind of record that a text names beyond doubt; a tractor with a loader is often headed by it."""
    word = records_by_word().get(fold(text))
    return word or ("implement" if "loader" not in fold(text).split() and family_named(text, families) else None)


def _records(column: Texts, families: Mapping[str, str]) -> NDArray[np.int64]:
    """Return, for each distinct text, the place of the record it names."""
    named = (record_named(text, families) for text in column.distinct)
    return np.array([_NONE if name is None else RECORDS.index(name) for name in named], np.int64)


def _some(table: Table, rows: NDArray[np.bool_], kinds: list[int]) -> Table:
    """Return some rows of a list, without the columns in which they say nothing."""
    columns = [column.take(rows) for column in table.columns]
    kept = [place for place, column in enumerate(columns) if _says(column, table.headers[place], place in kinds)]
    return dataclasses.replace(
        table,
        headers=tuple(table.headers[place] for place in kept),
        columns=tuple(columns[place] for place in kept),
        units=tuple(table.units[place] if place < len(table.units) else None for place in kept),
        places=tuple(table.places[place] for place in kept if place < len(table.places)),
        lines=table.lines[rows],
        refused={},
        findings=(),
    )


def _says(column: Texts, header: str, is_kind: bool) -> bool:
    said = {column.distinct[code].strip() for code in set(column.codes.tolist())} - {""}
    # A column that says tractor of every tractor has said it.
    return bool(said) and not (is_kind and all(fold(text) in ("tractor", "tractors") for text in said)) and bool(header)


def _with_unsure(part: Table, table: Table, unsure: NDArray[np.bool_]) -> Table:
    lines = table.lines[unsure]
    refused = {
        int(line): tuple(column[position] for column in table.columns)
        for line, position in zip(lines.tolist(), np.flatnonzero(unsure).tolist(), strict=True)
    }
    asked = tuple(
        findings.NeitherKind(row=line, raw=" | ".join(filter(None, cells))) for line, cells in refused.items()
    )
    return dataclasses.replace(part, refused={**part.refused, **refused}, findings=(*part.findings, *asked))
