"""Corrections by hand of what a list says of a machine; they outlive the next list, until it says another thing.

Each is kept with the ingest that made it. The last one of a machine's field holds; taking its ingest back brings the
one before it to hold again.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from evener.schema import fields

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_COLUMNS = "owner, record, number, row_text, field, was, said, why, batch_id"


class Correction(NamedTuple):
    """One field of one machine that was corrected; was, said and the row's text are JSON as kept."""

    owner: str | None
    record: str
    number: str | None
    row_text: str | None
    field: str
    was: str
    said: str | None
    why: str
    batch_id: str


def holding(con: Connection, record: str | None = None) -> list[Correction]:
    """Return the corrections that hold, in the order they were made.

    Parameters
    ----------
    con : an open store
    record : only of this kind of record
    """
    found = con.execute(
        f"SELECT {_COLUMNS} FROM correction WHERE $1 IS NULL OR record = $1"
        " QUALIFY row_number() OVER (PARTITION BY owner, record, number, row_text, field"
        " ORDER BY CAST(batch_id[2:] AS INTEGER) DESC, rowid DESC) = 1"
        " ORDER BY CAST(batch_id[2:] AS INTEGER), rowid",
        [record],
    ).fetchall()
    return [one for one in (Correction(*row) for row in found) if one.said is not None]


def keep(con: Connection, made: Iterable[Correction]) -> None:
    """Keep corrections.

    Parameters
    ----------
    con : a store open for writing
    made : the corrections; one without what is said takes the one before it back
    """
    for one in made:
        con.execute(f"INSERT INTO correction ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", list(one))


def forget(con: Connection, owner: str | None) -> int:
    """Forget the corrections of an owner's machines, and return how many held; the records stay as they are.

    Parameters
    ----------
    con : a store open for writing
    owner : the owner; None for machines without one
    """
    count = sum(one.owner == owner for one in holding(con))
    con.execute("DELETE FROM correction WHERE owner IS NOT DISTINCT FROM ?", [owner])
    return count


def carry_text(con: Connection, record: str, name: str, batch_id: str) -> None:
    """Let the text that no field took of a record stand beside the version that took its place too.

    Parameters
    ----------
    con : a store open for writing
    record, name : the record
    batch_id : ingest of one row that superseded it
    """
    key = fields.keys(record)[0]
    con.execute(
        "INSERT INTO unplaced (batch_id, record, file_row, raw) SELECT $1, u.record, new.file_row, u.raw"
        f' FROM history h JOIN "{record}" new ON new."{key}" = h.key AND new.batch_id = $1'
        " JOIN unplaced u ON u.batch_id = h.batch_id AND u.record = h.record"
        " AND u.file_row = CAST(json_extract_string(h.version, '$.file_row') AS INTEGER)"
        " WHERE h.record = $2 AND h.key = $3 AND h.superseded_by = $1",
        [batch_id, record, name],
    )


def text_beside(con: Connection, record: str, name: str) -> tuple[str, str]:
    """Return the text that no field took of a record, and what its list's columns were taken for; both JSON.

    Parameters
    ----------
    con : an open store
    record, name : the record
    """
    key = fields.keys(record)[0]
    found = con.execute(
        f"SELECT coalesce(u.raw, '{{}}'), coalesce(b.mapping, '{{}}') FROM \"{record}\" old"
        " LEFT JOIN unplaced u ON u.batch_id = old.batch_id AND u.file_row = old.file_row AND u.record = $1"
        f' LEFT JOIN batch b ON b.batch_id = old.batch_id WHERE old."{key}" = $2',
        [record, name],
    ).fetchall()
    return (found[0][0], found[0][1]) if found else ("{}", "{}")
