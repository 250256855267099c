"""The store: a DuckDB file. This is the only module that knows DuckDB.

Reading is locked down: a store from elsewhere can hold views that reach over the file system. A writer locks out every
other process, so a store is opened for writing only as long as one change takes.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields as dataclass_fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.schema import tables
from evener.schema.records import Family, Implement, RatingFit, Tractor, Verdict
from evener.schema.store.faults import (
    MEMORY_LIMIT,
    PREVIOUS,
    LogDamaged,
    LogNotEmptied,
    NoStore,
    NotAStore,
    StoreBusy,
    StoreDamaged,
    StoreError,
    StoreForbidden,
    StoreFull,
    StoreOutdated,
    check_readable,
    check_writable,
    explain,
    first_line,
)

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

    Connection = DuckDBPyConnection

__all__ = [
    "PREVIOUS",
    "LogDamaged",
    "LogNotEmptied",
    "NoStore",
    "NotAStore",
    "StoreBusy",
    "StoreDamaged",
    "StoreError",
    "StoreForbidden",
    "StoreFull",
    "StoreOutdated",
    "check_readable",
    "check_writable",
]

PATIENCE_S = 2.0
QUERY_LIMIT_MS = 60_000
# An older DuckDB 1.x can still open what is written here.
STORAGE_VERSION = "v1.2.0"

# `enable_external_access` stays out of this dictionary: options are applied in hash order, and it then fails at random.
_LOCKED: dict[str, str | bool | int] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
    "allow_community_extensions": False,
    "allow_unsigned_extensions": False,
    "allow_persistent_secrets": False,
    "allow_unredacted_secrets": False,
    "python_enable_replacements": False,
    "enable_external_file_cache": False,
    "temp_directory": "",
    "max_temp_directory_size": "0KB",
    "memory_limit": MEMORY_LIMIT,
}


def _connect(path: Path, *, read_only: bool, config: dict[str, Any]) -> Connection:
    import duckdb

    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            return duckdb.connect(str(path), read_only=read_only, config=config)
        except duckdb.Error as error:
            reason = explain(path, error)
            if isinstance(reason, StoreBusy) and time.monotonic() < deadline:
                time.sleep(0.05)
                continue
            raise reason from None


def _check_version(path: Path, con: Connection) -> None:
    found = con.execute("SELECT version FROM store").fetchall()
    if found != [(tables.STORE_VERSION,)]:
        raise StoreOutdated(
            f"{path} was made by another version of this tool. Export your own records with that version, "
            "move the file away, and ingest them again: the next command builds a new store."
        )


def _threads() -> int:
    return min(4, os.cpu_count() or 1)


def database_errors() -> type[Exception]:
    """Return the class of everything DuckDB raises, for those who may not import it."""
    import duckdb

    return duckdb.Error


@contextmanager
def open_read(
    path: Path, *, memory_limit: str = MEMORY_LIMIT, limit_ms: int = QUERY_LIMIT_MS, may_write: Path | None = None
) -> Iterator[Connection]:
    """Open a store for reading, locked down.

    Parameters
    ----------
    path : the store's file
    memory_limit : most memory DuckDB takes, as it reads sizes
    limit_ms : longest a statement may run [ms]
    may_write : the one file outside the store that can be written, for an answer; none when left out

    Raises
    ------
    StoreError
        The path holds no store, or one that is busy or damaged.
    """
    import duckdb

    check_readable(path)
    con = _connect(path, read_only=True, config={**_LOCKED, "threads": _threads(), "memory_limit": memory_limit})
    try:
        if may_write is not None:
            con.execute("SET allowed_paths=[{}]".format("'" + str(may_write).replace("'", "''") + "'"))
        # The order matters: the lock comes last, and nothing may reach outside before it is set.
        con.execute("SET enable_external_access=false")
        con.execute(f"SET max_execution_time={limit_ms}")
        con.execute("SET lock_configuration=true")
        _check_version(path, con)
        yield con
    except duckdb.CatalogException:
        raise NotAStore(f"{path} is a database without this tool's tables. Name a store with --store.") from None
    except (duckdb.IOException, duckdb.FatalException, duckdb.InternalException) as error:
        raise explain(path, error) from None
    finally:
        con.close()


@contextmanager
def open_scratch(file: Path) -> Iterator[Connection]:
    """Open an empty database in memory that may read one file and nothing else.

    Parameters
    ----------
    file : the one file
    """
    con = _connect(Path(":memory:"), read_only=False, config={**_LOCKED, "threads": 1})
    try:
        con.execute("SET allowed_paths=[$1]", [str(file)])
        con.execute("SET enable_external_access=false")
        con.execute(f"SET max_execution_time={QUERY_LIMIT_MS}")
        con.execute("SET lock_configuration=true")
        yield con
    finally:
        con.close()


@contextmanager
def open_write(path: Path) -> Iterator[Connection]:
    """Open a store for writing, inside one transaction that is synced and checkpointed before this returns.

    Parameters
    ----------
    path : the store's file; it must be there

    Raises
    ------
    StoreError
        The path holds no store, or one that is busy, damaged or not to be written; nothing was changed.
    """
    check_writable(path)
    # Rows are told apart by their line, not by where they lie, and keeping their order costs time.
    yield from _written(path, {"preserve_insertion_order": False})


@contextmanager
def create(path: Path) -> Iterator[Connection]:
    """Make a new store with empty tables and open it for writing.

    Parameters
    ----------
    path : where; nothing may be there

    Raises
    ------
    StoreForbidden
        Something is there already, or the folder may not be written.
    """
    from evener.schema import fields

    if os.path.lexists(path):
        raise StoreForbidden(f"{path} exists already. Name a new file.")
    if not os.access(path.parent, os.W_OK):
        raise StoreForbidden(f"{path.parent} may not be written by this user. Name another folder with --store.")

    def prepare(con: Connection) -> None:
        for record in fields.nomenclature():
            con.execute(tables.ddl(record))
        con.execute("INSERT INTO store VALUES (?, NULL)", [tables.STORE_VERSION])

    yield from _written(path, {}, prepare)


def _written(path: Path, settings: dict[str, Any], prepare: Any = None) -> Iterator[Connection]:
    import duckdb

    # A store holds customers' data: neither it nor its log may be readable by others, from the first byte on.
    mask = os.umask(0o077)
    try:
        con = _connect(
            path,
            read_only=False,
            config={**_LOCKED, "threads": _threads(), "storage_compatibility_version": STORAGE_VERSION, **settings},
        )
        try:
            con.execute("SET enable_external_access=false")
            con.execute("BEGIN")
            if prepare is not None:
                prepare(con)
            try:
                yield con
            except BaseException:
                with suppress(duckdb.Error):  # a failed statement may have rolled back already
                    con.execute("ROLLBACK")
                raise
            con.execute("COMMIT")
            _empty_log(path, con)
        except duckdb.CatalogException:
            raise NotAStore(f"{path} is a database without this tool's tables. Name a store with --store.") from None
        except (
            duckdb.IOException,
            duckdb.FatalException,
            duckdb.InternalException,
            duckdb.TransactionException,
            duckdb.OutOfMemoryException,
        ) as error:
            raise explain(path, error) from None
        finally:
            with suppress(duckdb.Error):  # what went wrong has been said; closing says it again
                con.close()
    finally:
        os.umask(mask)


def _empty_log(path: Path, con: Connection) -> None:
    """Bring what was committed from the log into the file.

    A store copied without its log silently answers from older data. Closing empties the log too, but says nothing when
    it fails.
    """
    import duckdb

    try:
        con.execute("CHECKPOINT")
    except duckdb.Error as error:
        log = path.with_name(path.name + ".wal").name
        raise LogNotEmptied(
            f"{path}: the change is saved in the log {log}, which could not be emptied ({first_line(error)}). "
            "Keep the log beside the store, make room, and run the command again."
        ) from None


def append(con: Connection, table: str, columns: Mapping[str, Sequence[Any]]) -> None:
    """Add rows to a table.

    Parameters
    ----------
    con : a store open for writing
    table : one of the nomenclature's
    columns : by field, one value per row; fields left out are blank
    """
    import pandas as pd

    con.register("appended", pd.DataFrame({name: list(values) for name, values in columns.items()}))
    con.execute(f'INSERT INTO "{table}" BY NAME SELECT * FROM appended')
    con.unregister("appended")


def _read(con: Connection, kind: type[Any], table: str, tail: str, values: Sequence[Any] = ()) -> list[Any]:
    """Return a table's rows as records; a blank list is empty, and estimates are a dictionary."""
    columns = dataclass_fields(kind)
    lists = [place for place, column in enumerate(columns) if str(column.type).startswith("tuple")]
    mappings = [place for place, column in enumerate(columns) if str(column.type).startswith("dict")]
    names = ", ".join(f'"{column.name}"' for column in columns)
    records = []
    for row in con.execute(f'SELECT {names} FROM "{table}" {tail}', values).fetchall():
        held = list(row)
        for place in lists:
            held[place] = tuple(held[place] or ())
        for place in mappings:
            held[place] = json.loads(held[place] or "{}")
        records.append(kind(*held))
    return records


def read_tractors(con: Connection, kinds: Iterable[str] | None = None) -> list[Tractor]:
    """Return the tractor records, by id.

    Parameters
    ----------
    con : an open store
    kinds : kinds wanted; all when left out
    """
    if kinds is None:
        return _read(con, Tractor, "tractor", "ORDER BY tractor_id")
    return _read(con, Tractor, "tractor", "WHERE list_contains(?, kind) ORDER BY tractor_id", [list(kinds)])


def read_implements(con: Connection, ids: Iterable[str] | None = None) -> list[Implement]:
    """Return the implement records, by id.

    Parameters
    ----------
    con : an open store
    ids : ids wanted; all when left out
    """
    if ids is None:
        return _read(con, Implement, "implement", "ORDER BY implement_id")
    tail = "WHERE list_contains(?, implement_id) ORDER BY implement_id"
    return _read(con, Implement, "implement", tail, [list(ids)])


def read_families(con: Connection) -> dict[str, Family]:
    """Return the families by name, in the order of their file."""
    return {family.family: family for family in _read(con, Family, "family", "ORDER BY file_row")}


def read_rating_fits(con: Connection) -> dict[str, RatingFit]:
    """Return the fitted rating of each family that has one."""
    return {fit.family: fit for fit in _read(con, RatingFit, "rating_fit", "ORDER BY family")}


def read_verdicts(con: Connection) -> list[Verdict]:
    """Return what analysts hold of implement records, by record."""
    return _read(con, Verdict, "verdict", "ORDER BY implement_id, set_field NULLS FIRST")


def read_reference(con: Connection) -> dict[str, list[dict[str, Any]]]:
    """Return every table of parameters, by name, as rows in the order of their file; None where a cell is blank."""
    from evener.schema import fields

    records = fields.reference_records()
    # One statement for all: planning twenty small ones takes longer than ranking a job.
    every = " UNION ALL ".join(f"SELECT '{record}', file_row, to_json(one) FROM \"{record}\" one" for record in records)
    tables: dict[str, list[dict[str, Any]]] = {record: [] for record in records}
    for record, _, row in sorted(con.execute(every).fetchall(), key=lambda found: found[1]):
        tables[record].append(json.loads(row))
    return tables


def read_rows(con: Connection, record: str) -> list[dict[str, Any]]:
    """Return all rows of one table, column by name.

    Parameters
    ----------
    con : an open store
    record : kind of record, as the nomenclature names it
    """
    from evener.schema import fields

    names = list(fields.of(record))
    file_order = [name for name in names if name in ("batch_id", "file_row")]
    order = file_order[::-1] or [*fields.keys(record)] or names[:1]
    columns, by = (", ".join(f'"{name}"' for name in part) for part in (names, order))
    rows = con.execute(f'SELECT {columns} FROM "{record}" ORDER BY {by}').fetchall()
    return [dict(zip(names, row, strict=True)) for row in rows]
