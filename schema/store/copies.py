"""Copies of a store as it stood before a change, whole and beside it."""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path

from evener.schema.store import companions, engine
from evener.schema.store.companions import LOG, PREVIOUS, VERSION
from evener.schema.store.faults import StoreBusy, StoreFull, check_readable, check_writable

_NEW = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW
_AT_ONCE = 1 << 20


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
    return _copy(path, companions.beside(path, PREVIOUS))


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
    first = companions.beside(path, f"{VERSION}{version}")
    taken = os.path.lexists(first)
    return _copy(path, companions.free(first.with_name(f"{first.name}-")) if taken else first)


def copy_into(path: Path, unfinished: Path) -> None:
    """Copy a store as it stands into a file, with what stands in its log alone.

    Parameters
    ----------
    path : the store's file
    unfinished : the file; what it holds is replaced

    Raises
    ------
    evener.schema.store.faults.StoreError
        The store is being written, or there is no room.
    """
    # A file descriptor closed in this process would drop DuckDB's lock, so the copy is made before the store is opened,
    # and made again when another process wrote to it meanwhile.
    check_readable(path)
    if companions.beside(path, LOG).exists():
        with engine.writing(path):
            pass  # replays and empties the log, so that the file alone is whole
    deadline = time.monotonic() + engine.PATIENCE_S
    try:
        while True:
            before = path.stat()
            _copied(path, unfinished)
            after = path.stat()
            if (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, after.st_size):
                break
            if time.monotonic() > deadline:
                raise StoreBusy(f"{path} is being written by another process. Try again when it is done.")
    except OSError as error:
        raise StoreFull(f"a copy of {path} cannot be written: {error.strerror}. Nothing was changed.") from None


def _copy(path: Path, copy: Path) -> Path:
    check_writable(path)
    unfinished = companions.unfinished(copy)
    try:
        copy_into(path, unfinished)
        unfinished.replace(copy)
    except OSError as error:
        raise StoreFull(f"{copy} cannot be written: {error.strerror}. Nothing was changed; make room.") from None
    finally:
        unfinished.unlink(missing_ok=True)
    return copy


def _copied(path: Path, unfinished: Path) -> None:
    # A store holds customers' data: a copy is nobody else's to read from its first byte on.
    with path.open("rb") as source, os.fdopen(os.open(unfinished, _NEW, 0o600), "wb") as target:
        shutil.copyfileobj(source, target, _AT_ONCE)
        target.flush()
        os.fsync(target.fileno())
