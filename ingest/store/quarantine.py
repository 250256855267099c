"""Rows that were refused: kept as text with their findings, and given back in a shape that can be corrected.

A refused row waits until it comes again, corrected or not: in the list that was written out for correction, under its
own name in another file of the same owner, or, where it has no name, in a newer file of the same name.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.ingest.columns.headers import OWN_HEADING, Choice, Match
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files.readers import Table
from evener.ingest.finding import Finding
from evener.ingest.rows.rows import Rows
from evener.schema import fields
from evener.schema.store import connection as store
from evener.schema.store import refused

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

BATCH, LINE, WRONG, REMEDY = (f"{OWN_HEADING}{word}" for word in ("batch", "line", "finding", "remedy"))
_KEPT_AS = {"fix": "remedy"}
_AT_ONCE = 2_000  # rows that are turned into text before they are written
_CELL = "cell "  # before the place of a cell that stands under no heading


@dataclass(frozen=True)
class Refused:
    """One refused row.

    Attributes
    ----------
    batch_id : ingest that refused it
    record : kind of record it was read as
    file_name : name of its file
    file_row : line of the file
    raw : its text by heading, or by place where it did not fit the headings
    findings : what is wrong with it
    headings : headings of its file
    """

    batch_id: str
    record: str
    file_name: str
    file_row: int
    raw: dict[str, str]
    findings: list[dict[str, Any]]
    headings: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the row as the JSON answer gives it."""
        return {
            "batch_id": self.batch_id,
            "record": self.record,
            "file": self.file_name,
            "row": self.file_row,
            "raw": self.raw,
            "findings": self.findings,
        }

    def to_correct(self) -> dict[str, str]:
        """Return the row under the headings of its file, with what is wrong with it before them."""
        said = {
            BATCH: self.batch_id,
            LINE: str(self.file_row),
            WRONG: "; ".join(one["message"] for one in self.findings),
            REMEDY: "; ".join(one["remedy"] for one in self.findings),
        }
        if any(heading in self.raw for heading in self.headings):
            return {**said, **{heading: self.raw.get(heading, "") for heading in self.headings}}
        cells = list(self.raw.values())
        under = dict(zip(self.headings, cells + [""] * len(self.headings), strict=False))
        beyond = " | ".join(cells[len(self.headings) :])
        return {**said, **under, **({f"{OWN_HEADING}cells beyond": beyond} if beyond else {})}


def _as_now(found: dict[str, Any]) -> dict[str, Any]:
    """Return a kept finding under today's keys: what to do was once kept under another name."""
    return {_KEPT_AS.get(key, key): said for key, said in found.items()}


def keep(con: Connection, rows: Rows, batch_id: str) -> None:
    """Put the refused rows of a file into the quarantine.

    Parameters
    ----------
    con : a store open for writing
    rows : prepared rows
    batch_id : ingest they belong to
    """
    misshapen = {one.row: one for one in rows.table.findings if one.row is not None and one.row in rows.table.refused}
    kept: list[tuple[int, int | None]] = [
        *((int(rows.table.lines[position]), position) for position in rows.refused),
        *((line, None) for line in rows.table.refused),
    ]
    kept.sort()
    for start in range(0, len(kept), _AT_ONCE):
        some = kept[start : start + _AT_ONCE]
        held = [_held(rows, misshapen, line, position) for line, position in some]
        store.append(
            con,
            "quarantine",
            {
                "batch_id": [batch_id] * len(some),
                "record": [rows.record] * len(some),
                "file_row": [line for line, _ in some],
                "raw": [raw for raw, _ in held],
                "findings": [found for _, found in held],
            },
        )


def _held(rows: Rows, misshapen: Mapping[int, Finding], line: int, position: int | None) -> tuple[str, str]:
    """Return a refused row's text and findings as they are kept."""
    if position is None:
        raw = {f"{_CELL}{place}": cell for place, cell in enumerate(rows.table.refused[line], 1)}
        found = [misshapen[line]]
    else:
        raw, found = rows.table.row(position), rows.refused[position]
    told = [{**finding.as_dict(), "row": line} for finding in found]
    return json.dumps(raw, ensure_ascii=False), json.dumps(told, ensure_ascii=False)


def waiting(con: Connection, batch_id: str | None = None) -> list[Refused]:
    """Return the refused rows that wait to be corrected.

    Parameters
    ----------
    con : an open store
    batch_id : only of this ingest
    """
    return [
        Refused(
            one.batch_id,
            one.record,
            one.file_name,
            one.file_row,
            json.loads(one.raw),
            [_as_now(found) for found in json.loads(one.findings)],
            tuple(json.loads(one.mapping)),
        )
        for one in refused.waiting(con, batch_id=batch_id)
    ]


def answered(con: Connection, rows: Rows) -> list[tuple[str, int]]:
    """Return the waiting rows, by ingest and line, that come again with a file.

    Parameters
    ----------
    con : an open store
    rows : prepared rows of the file
    """
    waits = refused.waiting(con, record=rows.record)
    if not waits:
        return []
    named = _column(rows, BATCH), _column(rows, LINE)
    pointed = set(zip(*named, strict=True)) if all(named) else set()
    first = fields.keys(rows.record)[0]
    names = {
        name.strip() for one in rows.matches if one.field and one.field.name == first for name in _cells(rows, one)
    }
    names.discard("")
    again = []
    for one in waits:
        name = _name(json.loads(one.raw), json.loads(one.mapping), first)
        newer = name in names if name else one.file_name == rows.table.name
        same_owner = (one.owner, one.kind) == (rows.owner, rows.kind)
        if (one.batch_id, str(one.file_row)) in pointed or (same_owner and newer):
            again.append((one.batch_id, one.file_row))
    return again


def is_corrected(table: Table) -> bool:
    """Tell whether a table is a list that was written out for correction."""
    return BATCH in table.headers


def as_before(
    con: Connection, table: Table, record: str, mapping: FileMapping, owner: str | None, kind: str | None
) -> tuple[FileMapping, str | None, str | None]:
    """Return how a list written out for correction is to be read: as its file was, where nothing else is said.

    Parameters
    ----------
    con : an open store
    table : the list
    record : kind of record its rows are
    mapping, owner, kind : said for the list itself; they go before what was said for the file
    """
    named = set(table.columns[table.headers.index(BATCH)])
    found = refused.readings(con, record, [name.strip() for name in named])
    if len(found) != 1:
        return mapping, owner, kind
    (first,) = found
    columns = {
        heading: Choice(*said)
        for heading, said in json.loads(first.mapping).items()
        if said[0] and heading in table.headers
    }
    before = FileMapping({**columns, **mapping.columns}, mapping.decimal or first.decimal or "", first.measures or "us")
    return before, owner or first.owner, kind or first.kind


def settle(con: Connection, again: Sequence[tuple[str, int]], batch_id: str) -> None:
    """Note that waiting rows came again: a later ingest holds them now, among its records or its own refused rows.

    Parameters
    ----------
    con : a store open for writing
    again : from `answered`
    batch_id : the later ingest
    """
    for waited, line in again:
        refused.settle(con, waited, line, batch_id)


def _name(raw: Mapping[str, str], mapping: Mapping[str, Sequence[str | None]], first: str) -> str:
    headings = [heading for heading, said in mapping.items() if said[0] == first]
    return next((raw[heading].strip() for heading in headings if heading in raw), "")


def _column(rows: Rows, header: str) -> list[str]:
    return [text.strip() for one in rows.matches if one.header == header for text in _cells(rows, one)]


def _cells(rows: Rows, one: Match) -> Sequence[str]:
    return rows.table.columns[one.position]
