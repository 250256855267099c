"""The store: opened for reading, for writing, or made; one of an earlier shape is brought up to date first."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.schema import fields, tables
from evener.schema.store import engine
from evener.schema.store.engine import database_errors, open_scratch
from evener.schema.store.faults import (
    MEMORY_LIMIT,
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
)
from evener.schema.store.migrations.chain import bring_up_to_date
from evener.schema.store.reading import (
    read_families,
    read_implements,
    read_names,
    read_rating_fits,
    read_reference,
    read_rows,
    read_tractor_columns,
    read_tractors,
    read_verdicts,
)

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

__all__ = [
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
    "bring_up_to_date",
    "check_readable",
    "check_writable",
    "database_errors",
    "open_scratch",
    "read_families",
    "read_implements",
    "read_names",
    "read_rating_fits",
    "read_reference",
    "read_rows",
    "read_tractor_columns",
    "read_tractors",
    "read_verdicts",
]


@contextmanager
def open_read(
    path: Path,
    *,
    memory_limit: str = MEMORY_LIMIT,
    limit_ms: int = engine.QUERY_LIMIT_MS,
    may_write: Path | None = None,
) -> Iterator[Connection]:
    """Open a store for reading, locked down; one of an earlier shape is brought up to date first, and a copy kept.

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
    for last in (False, True):
        with engine.reading(path, memory_limit=memory_limit, limit_ms=limit_ms, may_write=may_write) as con:
            if last or engine.version(con) == tables.STORE_VERSION:
                yield con
                return
        bring_up_to_date(path)


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
    bring_up_to_date(path)
    # Rows are told apart by their line, not by where they lie, and keeping their order costs time.
    with engine.writing(path, keep_order=False) as con:
        yield con


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
    if os.path.lexists(path):
        raise StoreForbidden(f"{path} exists already. Name a new file.")
    if not os.access(path.parent, os.W_OK):
        raise StoreForbidden(f"{path.parent} may not be written by this user. Name another folder with --store.")

    def make(con: Connection) -> None:
        for record in fields.nomenclature():
            con.execute(tables.ddl(record))
        con.execute("INSERT INTO store (version) VALUES (?)", [tables.STORE_VERSION])

    with engine.writing(path, make=make) as con:
        yield con


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
