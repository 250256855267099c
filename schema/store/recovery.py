"""Against loss: a copy of a store from before each change, and a way back where its log cannot be replayed.

A damaged log goes aside, nothing is deleted, and what is lost is said.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from evener.schema.store import connection as store

LOG = ".wal"
ASIDE = ".aside-"


def keep_previous(path: Path) -> None:
    """Keep one good copy of a store as it stands, beside it.

    A file descriptor closed in this process would drop DuckDB's lock, so the copy is made before the store is opened,
    and made again when another process wrote to it meanwhile.

    Parameters
    ----------
    path : the store's file
    """
    store.check_writable(path)
    copy, unfinished = path.with_name(path.name + store.PREVIOUS), path.with_name(path.name + store.PREVIOUS + ".new")
    if path.with_name(path.name + LOG).exists():
        with store.open_write(path):
            pass  # replays and empties the log, so that the file alone is whole
    deadline = time.monotonic() + store.PATIENCE_S
    try:
        while True:
            before = path.stat()
            shutil.copyfile(path, unfinished)
            unfinished.chmod(0o600)
            after = path.stat()
            if (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, after.st_size):
                break
            if time.monotonic() > deadline:
                raise store.StoreBusy(f"{path} is being written by another process. Try again when it is done.")
        unfinished.replace(copy)
    except OSError as error:
        raise store.StoreFull(f"{copy} cannot be written: {error.strerror}. Nothing was changed; make room.") from None
    finally:
        unfinished.unlink(missing_ok=True)


@dataclass(frozen=True)
class Recovered:
    """What was done about a log that could not be replayed.

    Attributes
    ----------
    aside : where the log lies now, or None where the store needed nothing
    last_batch : last ingest that the store holds: id, file and time (UTC); None where it holds none
    previous : the copy from before the last ingest, where there is one
    """

    aside: Path | None
    last_batch: tuple[str, str, datetime] | None
    previous: Path | None


def recover(path: Path) -> Recovered:
    """Move a store's log aside if the store cannot be read with it, and see that it can be read without.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    evener.schema.store.connection.StoreError
        There is no store, it is in use, or it cannot be read without its log either; everything is as it was.
    """
    copy = path.with_name(path.name + store.PREVIOUS)
    previous = copy if copy.exists() else None
    try:
        return Recovered(None, _last_batch(path), previous)
    except store.LogDamaged:
        store.check_writable(path)
    log = path.with_name(path.name + LOG)
    aside = next(name for name in _names(log) if not os.path.lexists(name))
    log.rename(aside)
    try:
        return Recovered(aside, _last_batch(path), previous)
    except store.StoreError:
        aside.rename(log)
        raise


def _names(log: Path) -> Iterator[Path]:
    count = 0
    while True:
        count += 1
        yield log.with_name(f"{log.name}{ASIDE}{count}")


def _last_batch(path: Path) -> tuple[str, str, datetime] | None:
    with store.open_read(path) as con:
        found = con.execute(
            "SELECT batch_id, file_name, loaded_at FROM batch ORDER BY CAST(batch_id[2:] AS INTEGER) DESC LIMIT 1"
        ).fetchall()
    return found[0] if found else None
