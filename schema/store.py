"""The store: a DuckDB file. This is the only module that knows DuckDB.

Reading is locked down: a store from elsewhere can hold views that reach over the file system. A writer locks out every
other process, so a store is opened for writing only as long as one change takes.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import stat
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import fields as dataclass_fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from evener.schema.records import Family, Implement, RatingFit, Tractor

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

    Connection = DuckDBPyConnection

MAGIC = b"DUCK"
MAGIC_OFFSET = 8
PATIENCE_S = 2.0
QUERY_LIMIT_MS = 60_000
MEMORY_LIMIT = "2GB"
# An older DuckDB 1.x can still open what is written here.
STORAGE_VERSION = "v1.2.0"
PREVIOUS = ".previous"

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


class StoreError(Exception):
    """A store that cannot be used; the text says what is wrong and what to do."""

    exit_status: ClassVar[int] = 3


class NoStore(StoreError):
    """There is nothing at the path."""

    exit_status: ClassVar[int] = 2


class NotAStore(StoreError):
    """Something else is at the path."""

    exit_status: ClassVar[int] = 2


class StoreForbidden(StoreError):
    """The store, or the folder it is in, may not be read or written by this user."""

    exit_status: ClassVar[int] = 2


class StoreBusy(StoreError):
    """Another process holds the store."""


class StoreDamaged(StoreError):
    """The file is a store that cannot be read whole."""


class StoreFull(StoreError):
    """The disk took no more; nothing was changed."""


def check_readable(path: Path) -> None:
    """Refuse anything that is not a store, before DuckDB touches it.

    Raises
    ------
    NoStore, NotAStore, StoreForbidden
        With what was found at the path.
    """
    try:
        found = path.lstat()
        if stat.S_ISLNK(found.st_mode):
            found = path.stat()
    except FileNotFoundError:
        if path.is_symlink():
            raise NotAStore(f"{path} is a link that leads nowhere. Name the store itself.") from None
        raise NoStore(f"There is no store at {path}. Make one with: evener demo FOLDER, or check --store.") from None
    except OSError as error:
        raise StoreForbidden(f"{path} cannot be looked at: {error.strerror}. Check the path and its rights.") from None
    if not stat.S_ISREG(found.st_mode):
        what = "a folder" if stat.S_ISDIR(found.st_mode) else "no regular file"
        raise NotAStore(f"{path} is {what}. Name a store file with --store.")
    try:
        with path.open("rb") as file:
            head = file.read(MAGIC_OFFSET + len(MAGIC))
    except OSError as error:
        raise StoreForbidden(f"{path} cannot be read: {error.strerror}. Check its rights.") from None
    if head[MAGIC_OFFSET:] != MAGIC:
        raise NotAStore(f"{path} is no store of this tool. Name a store file with --store.")


def check_writable(path: Path) -> None:
    """Refuse a store that cannot be written, before anything else is read or done.

    Raises
    ------
    StoreError
        As `check_readable`, and StoreForbidden when this user may not write the file or its folder.
    """
    check_readable(path)
    if not (os.access(path, os.W_OK) and os.access(path.resolve().parent, os.W_OK)):
        raise StoreForbidden(
            f"{path} may not be written by this user. Copy it to a folder of your own and use --store."
        )


def _explain(path: Path, error: Exception) -> StoreError:
    text = str(error)
    if "Could not set lock" in text or "different configuration" in text:
        holder = re.search(r"PID (\d+)", text)
        who = f"process {holder[1]}" if holder else "this process"
        return StoreBusy(f"{path} is in use by {who}. Try again when it is done.")
    if re.search(r"no space|disk full|ENOSPC|quota", text, re.IGNORECASE):
        return StoreFull(f"{path}: the disk is full. Nothing was changed; make room and run the command again.")
    if re.search(r"permission|read-only file system", text, re.IGNORECASE):
        return StoreForbidden(f"{path} may not be opened by this user. Check its rights.")
    first = text.splitlines()[0] if text else type(error).__name__
    copy = path.with_name(path.name + PREVIOUS)
    remedy = f"The copy from before the last ingest is {copy.name}." if copy.exists() else "Use a copy of it."
    return StoreDamaged(f"{path} cannot be read whole ({first}). {remedy}")


def _connect(path: Path, *, read_only: bool, config: dict[str, Any]) -> Connection:
    import duckdb

    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            return duckdb.connect(str(path), read_only=read_only, config=config)
        except duckdb.Error as error:
            reason = _explain(path, error)
            if isinstance(reason, StoreBusy) and time.monotonic() < deadline:
                time.sleep(0.05)
                continue
            raise reason from None


def _threads() -> int:
    return min(4, os.cpu_count() or 1)


@contextmanager
def open_read(path: Path) -> Iterator[Connection]:
    """Open a store for reading, locked down.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    StoreError
        The path holds no store, or one that is busy or damaged.
    """
    import duckdb

    check_readable(path)
    con = _connect(path, read_only=True, config={**_LOCKED, "threads": _threads()})
    try:
        # The order matters: the lock comes last, and nothing may reach outside before it is set.
        con.execute("SET enable_external_access=false")
        con.execute(f"SET max_execution_time={QUERY_LIMIT_MS}")
        con.execute("SET lock_configuration=true")
        yield con
    except duckdb.CatalogException:
        raise NotAStore(f"{path} is a database without this tool's tables. Name a store with --store.") from None
    except (duckdb.IOException, duckdb.FatalException, duckdb.InternalException) as error:
        raise _explain(path, error) from None
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
    yield from _written(path)


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
    from evener.schema import fields, tables

    if os.path.lexists(path):
        raise StoreForbidden(f"{path} exists already. Name a new file.")
    if not os.access(path.parent, os.W_OK):
        raise StoreForbidden(f"{path.parent} may not be written by this user. Name another folder with --store.")

    def prepare(con: Connection) -> None:
        for record in fields.nomenclature():
            con.execute(tables.ddl(record))
        con.execute("INSERT INTO store VALUES (?, NULL)", [tables.STORE_VERSION])

    yield from _written(path, prepare)


def _written(path: Path, prepare: Any = None) -> Iterator[Connection]:
    import duckdb

    # A store holds customers' data: neither it nor its log may be readable by others, from the first byte on.
    mask = os.umask(0o077)
    try:
        con = _connect(
            path,
            read_only=False,
            config={**_LOCKED, "threads": _threads(), "storage_compatibility_version": STORAGE_VERSION},
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
            # A store copied without its log silently answers from older data. Closing empties the log too, but
            # says nothing when it fails.
            con.execute("CHECKPOINT")
        except duckdb.CatalogException:
            raise NotAStore(f"{path} is a database without this tool's tables. Name a store with --store.") from None
        except (duckdb.IOException, duckdb.FatalException, duckdb.InternalException) as error:
            raise _explain(path, error) from None
        finally:
            con.close()
    finally:
        os.umask(mask)


def keep_previous(path: Path) -> None:
    """Keep one good copy of a store as it stands, beside it.

    A file descriptor closed in this process would drop DuckDB's lock, so the copy is made before the store is opened,
    and made again when another process wrote to it meanwhile.

    Parameters
    ----------
    path : the store's file
    """
    check_writable(path)
    copy, unfinished = path.with_name(path.name + PREVIOUS), path.with_name(path.name + PREVIOUS + ".new")
    if path.with_name(path.name + ".wal").exists():
        with open_write(path):
            pass  # replays and empties the log, so that the file alone is whole
    deadline = time.monotonic() + PATIENCE_S
    try:
        while True:
            before = path.stat()
            shutil.copyfile(path, unfinished)
            unfinished.chmod(0o600)
            after = path.stat()
            if (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, after.st_size):
                break
            if time.monotonic() > deadline:
                raise StoreBusy(f"{path} is being written by another process. Try again when it is done.")
        unfinished.replace(copy)
    except OSError as error:
        raise StoreFull(f"{copy} cannot be written: {error.strerror}. Nothing was changed; make room.") from None
    finally:
        unfinished.unlink(missing_ok=True)


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
