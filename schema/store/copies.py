"""Copies of a store as it stood before a change, whole and beside it."""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path

from evener.schema.store import engine
from evener.schema.store.faults import LOG, PREVIOUS, StoreBusy, StoreFull, check_writable


def keep_previous(path: Path) -> Path:
    """Keep one good copy of a store as it stands before an ingest, in place of the one before, and return where.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    evener.schema.store.faults.StoreError
        The store cannot be written, is busy, or there is no room; nothing was changed.
    """
    return _copy(path, path.with_name(path.name + PREVIOUS))


def keep_version(path: Path, version: int | None) -> Path:
    """Keep a copy of a store of an earlier shape, which no later copy replaces, and return where.

    Parameters
    ----------
    path : the store's file
    version : the shape its tables have

    Raises
    ------
    evener.schema.store.faults.StoreError
        As `keep_previous`.
    """
    first = path.with_name(f"{path.name}.version-{version}")
    count, copy = 1, first
    while os.path.lexists(copy):
        count += 1
        copy = first.with_name(f"{first.name}-{count}")
    return _copy(path, copy)


def _copy(path: Path, copy: Path) -> Path:
    # A file descriptor closed in this process would drop DuckDB's lock, so the copy is made before the store is opened,
    # and made again when another process wrote to it meanwhile.
    check_writable(path)
    unfinished = copy.with_name(copy.name + ".new")
    if path.with_name(path.name + LOG).exists():
        with engine.writing(path):
            pass  # replays and empties the log, so that the file alone is whole
    deadline = time.monotonic() + engine.PATIENCE_S
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
    return copy
