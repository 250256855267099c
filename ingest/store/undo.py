"""Undo one ingest: its records go, what they replaced comes back, and nothing of it stays behind."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from evener.ingest.rows.rows import FILE_SOURCE
from evener.ingest.store.batches import After
from evener.schema import fields, tables
from evener.schema.store import connection as store
from evener.schema.store import copies

if TYPE_CHECKING:
    from evener.schema.store.connection import Connection


class NotUndone(Exception):
    """An ingest that is not in the store, or that others lean on; the text says which and what to do."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class UndoReport:
    """What became of one ingest.

    Attributes
    ----------
    batch_id, record, file : the ingest that was undone
    removed : records that are gone
    restored : older versions that are back
    refused : refused rows of it that are gone
    waiting : refused rows of earlier ingests that wait again
    """

    batch_id: str
    record: str
    file: str
    removed: int
    restored: int
    refused: int
    waiting: int

    def as_dict(self) -> dict[str, Any]:
        """Return the report as the JSON answer gives it."""
        return asdict(self)


def undo(store_path: Path, batch_id: str, *, after: After | None = None) -> UndoReport:
    """Undo one ingest in a store.

    Where a later ingest replaced a record of it in turn, the later record stays, and the history goes from the version
    before straight to it.

    Parameters
    ----------
    store_path : the store
    batch_id : as `evener list batches` shows it
    after : called inside the transaction when implement records changed

    Raises
    ------
    NotUndone
        There is no such ingest, or other records lean on what it loaded; nothing was changed.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    with store.open_read(store_path) as con:
        _batch(con, batch_id)
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        record, file = _batch(con, batch_id)
        removed = _count(con, f'DELETE FROM "{record}" WHERE batch_id = $1', batch_id)
        restored = _restore(con, record, batch_id)
        refused = _count(con, "DELETE FROM quarantine WHERE batch_id = $1", batch_id)
        waiting = _count(con, "UPDATE quarantine SET settled_by = NULL WHERE settled_by = $1", batch_id)
        con.execute("DELETE FROM unplaced WHERE batch_id = $1", [batch_id])
        con.execute("DELETE FROM batch WHERE batch_id = $1", [batch_id])
        _drop_source(con, batch_id)
        _check_whole(con, record, batch_id)
        if after is not None and record in ("implement", "family"):
            after(con)
    return UndoReport(batch_id, record, file, removed, restored, refused, waiting)


def _batch(con: Connection, batch_id: str) -> tuple[str, str]:
    found = con.execute("SELECT record, file_name FROM batch WHERE batch_id = $1", [batch_id]).fetchall()
    if not found:
        raise NotUndone(f"There is no ingest {batch_id!r} in the store. See: evener list batches.")
    record, file = found[0]
    return record, file


def _count(con: Connection, statement: str, batch_id: str) -> int:
    ((count,),) = con.execute(statement, [batch_id]).fetchall()
    return int(count)


def _restore(con: Connection, record: str, batch_id: str) -> int:
    """Bring back what the ingest replaced, unless a later one replaced its own record in turn."""
    con.execute(
        "UPDATE history older SET superseded_by = newer.superseded_by FROM history newer"
        " WHERE older.superseded_by = $1 AND newer.batch_id = $1"
        " AND older.record = newer.record AND older.key = newer.key",
        [batch_id],
    )
    con.execute("DELETE FROM history WHERE batch_id = $1", [batch_id])
    shape = {one.name: _json_type(tables.sql_type(one)) for one in fields.of(record).values()}
    restored = _count(
        con,
        f'INSERT INTO "{record}" SELECT unnest(from_json(version, {_quoted(json.dumps(shape))}))'
        " FROM history WHERE superseded_by = $1",
        batch_id,
    )
    con.execute("DELETE FROM history WHERE superseded_by = $1", [batch_id])
    return restored


def _json_type(sql_type: str) -> str | list[str]:
    return [sql_type.removesuffix("[]")] if sql_type.endswith("[]") else sql_type


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _cited() -> str:
    records = [record for record in fields.loaded_records() if "source_id" in fields.of(record) and record != "source"]
    return " UNION ".join(f'SELECT source_id FROM "{record}"' for record in records)


def _drop_source(con: Connection, batch_id: str) -> None:
    con.execute(
        f"DELETE FROM source WHERE batch_id = $1 AND starts_with(source_id, $2) AND source_id NOT IN ({_cited()})",
        [batch_id, FILE_SOURCE],
    )


def _check_whole(con: Connection, record: str, batch_id: str) -> None:
    """Refuse to leave records that lean on what is gone, or a kind of record without any."""
    ((left,),) = con.execute(f'SELECT count(*) FROM "{record}"').fetchall()
    if not left:
        raise NotUndone(f"Undoing {batch_id} would leave no {record} at all. Nothing was changed.")
    lost = con.execute(
        "SELECT 'family', family FROM implement WHERE family NOT IN (SELECT family FROM family)"
        f" UNION SELECT 'source', source_id FROM ({_cited()}) WHERE source_id NOT IN (SELECT source_id FROM source)"
        " ORDER BY 1, 2 LIMIT 3"
    ).fetchall()
    if lost:
        named = ", ".join(f"{kind} {name}" for kind, name in lost)
        raise NotUndone(
            f"Other records lean on what {batch_id} loaded: {named}. Undo theirs first; nothing was changed."
        )
