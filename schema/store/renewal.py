"""A store keeps the library it was filled with; where a later one is shipped, its rows take their place.

What a user's own ingest loaded stays, corrections of library rows included: a row of the library comes in only where no
record has its name.
"""

from __future__ import annotations

import logging
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.schema import fields, tables
from evener.schema.store import batches, copies, engine, shipped
from evener.schema.store.faults import StoreForbidden, StoreOutdated, check_writable

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


def renew(path: Path, *, after: Callable[[Connection], object]) -> Path | None:
    """Bring the library in a store up to the one shipped, and return the copy that was kept; None where it is that one.

    A store that was filled with no library, or from files that are not those shipped, is left as it is.

    Parameters
    ----------
    path : the store's file, whose tables have today's shape
    after : called when the records are in, inside the same transaction

    Raises
    ------
    StoreOutdated
        The store's library is an earlier one and this user may not write the store.
    evener.schema.store.faults.StoreError
        The path holds no store, or one that is busy or damaged; nothing was changed.
    """
    current = shipped.packed_fingerprint()
    with engine.reading(path) as con:
        if current in (None, *_filled_with(con)) or not _filled_with(con):
            return None
    try:
        check_writable(path)
    except StoreForbidden:
        raise StoreOutdated(
            f"{path} was filled with an earlier library, which must be renewed, and may not be written by this user. "
            "Copy it to a folder of your own and use --store."
        ) from None
    with tempfile.TemporaryDirectory() as folder:
        library = Path(folder) / "library.duckdb"
        shipped.lay_out(library)
        with engine.reading(library) as con:
            rows = {record: _as_json(con, record) for record in (*_of_the_library(), "batch")}
    copy = copies.keep_previous(path)
    with engine.writing(path) as con:
        if current in _filled_with(con):  # another process was first
            return None
        _replace(con, rows)
        con.execute("UPDATE store SET library_sha256 = ?", [current])
        after(con)
    told = "evener: the library in %s was renewed; your own records are as they were. The store before is %s"
    logging.getLogger("evener").warning(told, path, copy.name)
    return copy


def _filled_with(con: Connection) -> tuple[str, ...]:
    return tuple(value for (value,) in con.execute("SELECT library_sha256 FROM store").fetchall() if value)


def _of_the_library() -> list[str]:
    return list(dict.fromkeys(record for record, _ in shipped.files()))


def _as_json(con: Connection, record: str) -> list[str]:
    return [text for (text,) in con.execute(f'SELECT to_json(t) FROM "{record}" t').fetchall()]


def _replace(con: Connection, rows: dict[str, list[str]]) -> None:
    """Take the earlier library's rows and entries out, and put the later one's in under new ingests."""
    ((earlier,),) = con.execute("SELECT library_batches FROM store").fetchall()
    for record in rows:
        con.execute(f'DELETE FROM "{record}" WHERE list_contains($1, batch_id)', [earlier])
    numbered = _entries(con, rows["batch"])
    for record in _of_the_library():
        _insert(con, record, rows[record], numbered)
    con.execute("UPDATE store SET library_batches = $1", [sorted(numbered.values())])


def _entries(con: Connection, entries: list[str]) -> dict[str, str]:
    """Enter the ingests of the later library, and return the id of each by the one that it had in the shipped store."""
    read = tables.read_from_json("batch", "entry")
    numbered = {}
    for entry in sorted(entries):
        to = batches.next_batch(con)
        ((was,),) = con.execute(f"SELECT ({read}).batch_id FROM (SELECT $1 AS entry)", [entry]).fetchall()
        con.execute(
            f"INSERT INTO batch BY NAME SELECT * REPLACE ($2 AS batch_id) FROM (SELECT unnest({read})"
            " FROM (SELECT $1 AS entry))",
            [entry, to],
        )
        numbered[was] = to
    return numbered


def _insert(con: Connection, record: str, rows: list[str], numbered: dict[str, str]) -> None:
    named = " AND ".join(f'held."{key}" IS NOT DISTINCT FROM new."{key}"' for key in fields.keys(record))
    values: list[Any] = [rows, list(numbered), list(numbered.values())]
    con.execute(
        f'INSERT INTO "{record}" BY NAME SELECT * REPLACE (map($2, $3)[batch_id] AS batch_id) FROM ('
        f"SELECT unnest({tables.read_from_json(record, 'entry')}) FROM (SELECT unnest($1) AS entry)) new"
        f' WHERE NOT EXISTS (SELECT 1 FROM "{record}" held WHERE {named})',
        values,
    )
