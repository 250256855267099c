"""One ingest out of the store again: its records go, and what they replaced comes back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.schema import fields, tables
from evener.schema.store.batches import FILE_SOURCE

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


def batch(con: Connection, batch_id: str) -> tuple[str, str] | None:
    """Return the kind of record and the file of an ingest, or None where there is no such ingest."""
    found = con.execute("SELECT record, file_name FROM batch WHERE batch_id = $1", [batch_id]).fetchall()
    return (found[0][0], found[0][1]) if found else None


def remove_records(con: Connection, record: str, batch_id: str) -> int:
    """Remove the records an ingest loaded, and return how many there were."""
    return _count(con, f'DELETE FROM "{record}" WHERE batch_id = $1', batch_id)


def restore(con: Connection, record: str, batch_id: str) -> int:
    """Bring back what an ingest replaced, unless a later one replaced its own record in turn; return how many."""
    con.execute(
        "UPDATE history older SET superseded_by = newer.superseded_by FROM history newer"
        " WHERE older.superseded_by = $1 AND newer.batch_id = $1"
        " AND older.record = newer.record AND older.key = newer.key",
        [batch_id],
    )
    con.execute("DELETE FROM history WHERE batch_id = $1", [batch_id])
    restored = _count(
        con,
        f'INSERT INTO "{record}" BY NAME SELECT unnest({tables.read_from_json(record, "version")})'
        f" FROM history WHERE superseded_by = $1 AND record = '{record}'",
        batch_id,
    )
    con.execute("DELETE FROM history WHERE superseded_by = $1", [batch_id])
    return restored


def remove_refused(con: Connection, batch_id: str) -> tuple[int, int]:
    """Remove the refused rows of an ingest, and let those it settled wait again; return how many of each."""
    refused = _count(con, "DELETE FROM quarantine WHERE batch_id = $1", batch_id)
    return refused, _count(con, "UPDATE quarantine SET settled_by = NULL WHERE settled_by = $1", batch_id)


def remove_entry(con: Connection, batch_id: str) -> None:
    """Remove an ingest's entry, the text no field took, and its file as a source where nothing cites it any more."""
    for kept in ("unplaced", "sender", "correction", "owner_alias"):
        con.execute(f'DELETE FROM "{kept}" WHERE batch_id = $1', [batch_id])
    con.execute("DELETE FROM batch WHERE batch_id = $1", [batch_id])
    con.execute(
        f"DELETE FROM source WHERE batch_id = $1 AND starts_with(source_id, $2) AND source_id NOT IN ({_cited()})",
        [batch_id, FILE_SOURCE],
    )


def is_empty(con: Connection, record: str) -> bool:
    """Tell whether a table has no row."""
    ((count,),) = con.execute(f'SELECT count(*) FROM "{record}"').fetchall()
    return not count


def missing(con: Connection) -> list[tuple[str, str]]:
    """Return the first few families and sources that records name and the store does not hold: kind and name."""
    return con.execute(
        "SELECT 'family', family FROM implement WHERE family NOT IN (SELECT family FROM family)"
        f" UNION SELECT 'source', source_id FROM ({_cited()}) WHERE source_id NOT IN (SELECT source_id FROM source)"
        " ORDER BY 1, 2 LIMIT 3"
    ).fetchall()


def _count(con: Connection, statement: str, batch_id: str) -> int:
    ((count,),) = con.execute(statement, [batch_id]).fetchall()
    return int(count)


def _cited() -> str:
    records = [record for record in fields.loaded_records() if "source_id" in fields.of(record) and record != "source"]
    return " UNION ".join(f'SELECT source_id FROM "{record}"' for record in records)
