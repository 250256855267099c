"""Rows that an ingest refused and that wait in the quarantine."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from evener.schema.units import Measures

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


class Waiting(NamedTuple):
    """One row that waits, with its ingest, and how its file was read; text, findings and mapping are JSON as kept."""

    batch_id: str
    record: str
    file_name: str
    file_row: int
    raw: str
    findings: str
    mapping: str
    owner: str | None
    kind: str | None


class Reading(NamedTuple):
    """How the file of an ingest was read; the mapping is JSON as kept."""

    mapping: str
    decimal: Literal[".", ","] | None
    measures: Measures | None
    owner: str | None
    kind: str | None


def waiting(con: Connection, *, batch_id: str | None = None, record: str | None = None) -> list[Waiting]:
    """Return the rows that wait, by ingest and line.

    Parameters
    ----------
    con : an open store
    batch_id, record : only of this ingest, of this kind of record
    """
    found = con.execute(
        "SELECT batch_id, q.record, b.file_name, q.file_row, q.raw, q.findings, b.mapping,"
        " coalesce((SELECT a.owner FROM owner_alias a WHERE a.alias = b.owner), b.owner), b.kind"
        " FROM quarantine q JOIN batch b USING (batch_id) WHERE settled_by IS NULL"
        " AND ($1 IS NULL OR batch_id = $1) AND ($2 IS NULL OR q.record = $2) ORDER BY batch_id, q.file_row",
        [batch_id, record],
    ).fetchall()
    return [Waiting(*row) for row in found]


def readings(con: Connection, record: str, batch_ids: Sequence[str]) -> list[Reading]:
    """Return how the files of some ingests were read.

    Parameters
    ----------
    con : an open store
    record : kind of record
    batch_ids : the ingests
    """
    found = con.execute(
        "SELECT mapping, decimal, measures, owner, kind FROM batch WHERE record = $1 AND list_contains($2, batch_id)",
        [record, list(batch_ids)],
    ).fetchall()
    return [Reading(*row) for row in found]


def settle(con: Connection, waited: str, line: int, batch_id: str) -> None:
    """Note that a row that waits came again.

    Parameters
    ----------
    con : a store open for writing
    waited, line : ingest and line of the row
    batch_id : the ingest it came with
    """
    con.execute(
        "UPDATE quarantine SET settled_by = $1 WHERE batch_id = $2 AND file_row = $3 AND settled_by IS NULL",
        [batch_id, waited, line],
    )
