"""The store: a DuckDB file. This is the only module that knows DuckDB.

Reading is locked down: a store from elsewhere can hold views that reach over the file system. A writer locks out every
other process, so a store is opened for writing only as long as one change takes.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.schema import tables
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
from evener.schema.store.reading import (
    read_families,
    read_implements,
    read_rating_fits,
    read_reference,
    read_rows,
    read_tractor_columns,
    read_tractors,
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
    "read_families",
    "read_implements",
    "read_rating_fits",
    "read_reference",
    "read_rows",
    "read_tractor_columns",
    "read_tractors",
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
