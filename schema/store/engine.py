"""The engine under the store. This is the only module that knows DuckDB.

Reading is locked down: a store from elsewhere can hold views that reach over the file system. A writer locks out every
other process, so a store is opened for writing only as long as one change takes.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.schema import fields
from evener.schema.store import companions, log_count
from evener.schema.store.companions import LOG
from evener.schema.store.faults import (
    MEMORY_LIMIT,
    LogNotEmptied,
    NotAStore,
    StoreBusy,
    check_readable,
    check_writable,
    explain,
    first_line,
)

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

    Connection = DuckDBPyConnection

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
    # Their usual values name the user's home, which an answer must not tell.
    "secret_directory": ".",
    "home_directory": ".",
    "extension_directory": "",
    "max_temp_directory_size": "0KB",
    "memory_limit": MEMORY_LIMIT,
}


def _connect(path: Path, *, read_only: bool, config: dict[str, Any]) -> Connection:
    import duckdb

    log_count.check(path)
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            return duckdb.connect(str(companions.itself(path)), read_only=read_only, config=config)
        except duckdb.Error as error:
            reason = explain(path, error)
            if isinstance(reason, StoreBusy) and time.monotonic() < deadline:
                time.sleep(0.05)
                continue
            raise reason from None


def _threads() -> int:
    return min(4, os.cpu_count() or 1)


def database_errors() -> type[Exception]:
    """Return the class of everything DuckDB raises, for those who may not import it."""
    import duckdb

    return duckdb.Error


@contextmanager
def reading(
    path: Path, *, memory_limit: str = MEMORY_LIMIT, limit_ms: int = QUERY_LIMIT_MS, may_write: Path | None = None
) -> Iterator[Connection]:
    """Open a file for reading, locked down, whatever shape its tables have.

    Parameters and errors are those of `evener.schema.store.connection.open_read`.
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
        _refuse_views(path, con)
        yield con
    except duckdb.CatalogException:
        raise NotAStore(f"{path} is a database without this tool's tables. Name a store with --store.") from None
    except duckdb.BinderException as error:
        raise NotAStore(
            f"{path} has tables of another shape ({first_line(error)}). Name a store of this tool."
        ) from None
    except duckdb.Error as error:
        if not _is_of_the_file(error):
            raise
        raise explain(path, error) from None
    finally:
        con.close()


def _is_of_the_file(error: Exception) -> bool:
    """Tell whether an error comes of the file or the disk, and not of what was asked."""
    import duckdb

    kinds = (
        duckdb.IOException,
        duckdb.FatalException,
        duckdb.InternalException,
        duckdb.SerializationException,
        duckdb.TransactionException,
        duckdb.OutOfMemoryException,
    )
    # A block that does not meet its checksum is an error of no kind.
    return isinstance(error, kinds) or type(error) is duckdb.Error


def _refuse_views(path: Path, con: Connection) -> None:
    """Refuse a store in which a view stands where a table should: it could answer anything, and never end."""
    views = con.execute("SELECT view_name FROM duckdb_views() WHERE NOT internal ORDER BY 1").fetchall()
    names = [name for (name,) in views if name in fields.nomenclature()]
    if names:
        raise NotAStore(
            f"{path} has a view in place of the table {names[0]}. It was not made by this tool; use another."
        )


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
def writing(
    path: Path, *, make: Callable[[Connection], object] | None = None, keep_order: bool = True
) -> Iterator[Connection]:
    """Open a file for writing, inside one transaction that is synced and checkpointed before this returns.

    Parameters
    ----------
    path : the file; a new one is made where `make` is given
    make : fills the new file
    keep_order : whether rows are to lie as they came; else they may be written faster

    Raises
    ------
    StoreError
        The path holds no store, or one that is busy, damaged or not to be written; nothing was changed.
    """
    if make is None:
        check_writable(path)
    else:
        log_count.settle(path)  # of a store that was here before
    settings = {} if keep_order else {"preserve_insertion_order": False}
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
            if make is not None:
                make(con)
            try:
                yield con
            except BaseException:
                with suppress(duckdb.Error):  # a failed statement may have rolled back already
                    con.execute("ROLLBACK")
                raise
            con.execute("COMMIT")
            log_count.note(path)
            _empty_log(path, con)
        except duckdb.CatalogException:
            raise NotAStore(f"{path} is a database without this tool's tables. Name a store with --store.") from None
        except duckdb.Error as error:
            if not _is_of_the_file(error):
                raise
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
        log = companions.beside(path, LOG).name
        raise LogNotEmptied(
            f"{path}: the change is saved in the log {log}, which could not be emptied ({first_line(error)}). "
            "Keep the log beside the store, make room, and run the command again."
        ) from None
    log_count.settle(path)


def version(con: Connection) -> int | None:
    """Return the number of the shape that a store's tables have; None where it says none."""
    found = con.execute("SELECT version FROM store").fetchall()
    return found[0][0] if len(found) == 1 else None
