"""The chain of steps: each brings a store from one shape to the next, in a transaction of its own.

A step is a module `to_N` with one function, `migrate(con)`, which takes a store from shape N - 1 to shape N. It names
tables and columns itself and follows neither the nomenclature nor the records, which go on changing.
"""

from __future__ import annotations

import importlib
import logging
from pathlib import Path

from evener.schema.store import copies, engine
from evener.schema.store.faults import StoreForbidden, StoreOutdated, check_writable
from evener.schema.tables import STORE_VERSION

# Shapes before this one were never told apart.
FIRST = 2


def bring_up_to_date(path: Path) -> Path | None:
    """Bring a store of an earlier shape up to date, and return the copy that was kept; None where it needed nothing.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    StoreOutdated
        The store is newer than this tool, too old to be known, or cannot be written by this user.
    StoreError
        The path holds no store, or one that is busy or damaged. What is done so far is whole; the copy is kept where
        anything is done.
    """
    with engine.reading(path) as con:
        found = engine.version(con)
    if found == STORE_VERSION:
        return None
    if found is not None and found > STORE_VERSION:
        raise StoreOutdated(f"{path} was made by a newer version of this tool. Install that version to use it.")
    if found is None or found < FIRST:
        raise StoreOutdated(
            f"{path} was made by another version of this tool. Export your own records with that version, "
            "move the file away, and ingest them again: the next command builds a new store."
        )
    try:
        check_writable(path)
    except StoreForbidden:
        raise StoreOutdated(
            f"{path} has an earlier shape that must be brought up to date, and may not be written by this user. "
            "Copy it to a folder of your own and use --store."
        ) from None
    copy = copies.keep_version(path, found)
    try:
        _take(path, found + 1)
    except BaseException:
        copy.unlink()  # nothing is done: the store itself is what the copy is of
        raise
    for number in range(found + 2, STORE_VERSION + 1):
        _take(path, number)
    logging.getLogger("evener").warning("evener: %s was brought up to date; the store before is %s", path, copy.name)
    return copy


def _take(path: Path, number: int) -> None:
    step = importlib.import_module(f"evener.schema.store.migrations.to_{number}")
    with engine.writing(path) as con:
        # Another process may have taken the step while this one waited.
        if engine.version(con) == number - 1:
            step.migrate(con)
            con.execute("UPDATE store SET version = ?", [number])
