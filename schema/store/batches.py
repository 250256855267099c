"""One ingest against its table: what is new, what the table holds already, what it supersedes, and its entry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from evener.schema import fields
from evener.schema.store.staging import STAGE

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

# A file that its owner handed in is a source of its own.
FILE_SOURCE = "file:"
_HELD = "held_rows"
_CHANGED = f"stage.file_row NOT IN (SELECT file_row FROM {_HELD} WHERE same)"
# The same figures from the owner's next file are no correction.
_SAME_SOURCE = (
    "(stage.source_id IS NOT DISTINCT FROM old.source_id"
    f" OR (starts_with(stage.source_id, '{FILE_SOURCE}') AND starts_with(old.source_id, '{FILE_SOURCE}')))"
)


def compare(con: Connection, record: str, stated: Iterable[str]) -> tuple[int, int]:
    """Compare the staged rows with the records of their names; return how many have one, and how many equal it.

    Parameters
    ----------
    con : a store with staged rows
    record : kind of record
    stated : fields that tell two versions apart, beside their source
    """
    same = f"{_equal(stated)} AND {_SAME_SOURCE}"
    con.execute(f"DROP TABLE IF EXISTS {_HELD}")
    con.execute(
        f"CREATE TEMP TABLE {_HELD} AS SELECT stage.file_row, bool_or({same}) AS same"
        f' FROM {STAGE} stage JOIN "{record}" old ON {_named(record)} GROUP BY stage.file_row'
    )
    ((held, equal),) = con.execute(f"SELECT count(*), count(*) FILTER (WHERE same) FROM {_HELD}").fetchall()
    return held, equal


def same_lines(con: Connection) -> set[int]:
    """Return the lines of the compared rows that equal the record of their name."""
    return {line for (line,) in con.execute(f"SELECT file_row FROM {_HELD} WHERE same").fetchall()}


def taken_names(con: Connection, record: str) -> list[tuple[int, str, str | None, str | None]]:
    """Return the staged rows that have the name of a record of another kind or owner: line, name, that kind and owner.

    Parameters
    ----------
    con : a store with staged rows
    record : kind of record
    """
    whose = [name for name in ("kind", "owner") if name in fields.of(record)]
    if not whose:
        return []
    key = fields.keys(record)[0]
    shown = ", ".join(f'old."{name}"' if name in whose else "NULL" for name in ("kind", "owner"))
    differs = " OR ".join(f'stage."{name}" IS DISTINCT FROM old."{name}"' for name in whose)
    return con.execute(
        f'SELECT stage.file_row, stage."{key}", {shown} FROM {STAGE} stage JOIN "{record}" old'
        f" ON {_named(record)} WHERE {differs} ORDER BY 1"
    ).fetchall()


def supersede(con: Connection, record: str, batch_id: str) -> None:
    """Move the records that compared staged rows change into the history.

    Parameters
    ----------
    con : a store open for writing, after `compare`
    record : kind of record
    batch_id : ingest that supersedes them
    """
    changed = f"{_named(record)} AND {_CHANGED}"
    key = ", ".join(f'old."{name}"' for name in fields.keys(record))
    con.execute(
        f"INSERT INTO history SELECT $1, concat_ws(' / ', {key}), old.batch_id, $2, to_json(old)"
        f' FROM "{record}" old JOIN {STAGE} stage ON {changed}',
        [record, batch_id],
    )
    con.execute(f'DELETE FROM "{record}" old USING {STAGE} stage WHERE {changed}')


def insert(con: Connection, record: str, columns: Iterable[str], *, some_same: bool) -> None:
    """Put the staged rows into their table, but for those that equal the record of their name.

    Parameters
    ----------
    con : a store open for writing, after `compare`
    record : kind of record
    columns : those that hold anything
    some_same : whether any row equals its record
    """
    names = ", ".join(f'"{name}"' for name in columns)
    where = f" WHERE {_CHANGED}" if some_same else ""
    con.execute(f'INSERT INTO "{record}" ({names}) SELECT {names} FROM {STAGE}{where}')


def cite(con: Connection, record: str, batch_id: str, source_id: str, *, citation: str, status: str) -> None:
    """Enter a source that records of an ingest cite, unless it is there.

    Parameters
    ----------
    con : a store open for writing
    record : kind of record
    batch_id : the ingest
    source_id, citation, status : the source
    """
    con.execute(
        "INSERT INTO source (source_id, citation, status, batch_id) SELECT $1, $2, $3, $4"
        f' WHERE EXISTS (SELECT 1 FROM "{record}" WHERE source_id = $1 AND batch_id = $4 LIMIT 1)'
        " AND NOT EXISTS (SELECT 1 FROM source WHERE source_id = $1)",
        [source_id, citation, status, batch_id],
    )


def next_batch(con: Connection) -> str:
    """Return the id of the ingest to come."""
    last = con.execute("SELECT max(CAST(batch_id[2:] AS INTEGER)) FROM batch").fetchall()[0][0]
    return f"B{(last or 0) + 1:04d}"


def earlier_batch(con: Connection, settings: Mapping[str, Any]) -> str | None:
    """Return the last ingest that was entered with some settings.

    Parameters
    ----------
    con : an open store
    settings : columns of `batch` with their values; None asks for a blank
    """
    same = " AND ".join(f'"{name}" IS NOT DISTINCT FROM ?' for name in settings)
    found = con.execute(
        f"SELECT batch_id FROM batch WHERE {same} ORDER BY batch_id DESC LIMIT 1", list(settings.values())
    ).fetchall()
    return found[0][0] if found else None


def enter(con: Connection, values: Mapping[str, Any]) -> None:
    """Enter an ingest.

    Parameters
    ----------
    con : a store open for writing
    values : columns of `batch` with their values
    """
    names = ", ".join(f'"{name}"' for name in values)
    con.execute(f"INSERT INTO batch ({names}) VALUES ({', '.join('?' for _ in values)})", list(values.values()))


def own(con: Connection) -> frozenset[str]:
    """Return the ids of the ingests that did not come with the library."""
    found = con.execute(
        "SELECT batch_id FROM batch WHERE batch_id NOT IN (SELECT unnest(library_batches) FROM store"
        " WHERE library_batches IS NOT NULL)"
    ).fetchall()
    return frozenset(batch_id for (batch_id,) in found)


def enter_library(con: Connection, fingerprint: str) -> None:
    """Note which library a new store was filled with: every ingest so far brought it.

    Parameters
    ----------
    con : a store open for writing, with nothing in it but the library
    fingerprint : hash of the library's files
    """
    con.execute(
        "UPDATE store SET library_sha256 = ?, library_batches = (SELECT list(batch_id ORDER BY batch_id) FROM batch)",
        [fingerprint],
    )


def _equal(names: Iterable[str]) -> str:
    return " AND ".join(f'stage."{name}" IS NOT DISTINCT FROM old."{name}"' for name in names)


def _named(record: str) -> str:
    """Return the condition that a staged row and a record have one name, whose first part is never blank."""
    first, *others = fields.keys(record)
    return " AND ".join(part for part in (f'stage."{first}" = old."{first}"', _equal(others)) if part)
