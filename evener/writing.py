"""Files that are written beside their target and renamed, so that nobody ever sees half of one."""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from evener.schema.store import connection as store
from evener.schema.store.faults import LOG, PREVIOUS


class CannotWrite(store.StoreError):
    """A file that is not written; the text says why."""

    exit_status = 2


@contextmanager
def written(target: Path, store_path: Path) -> Iterator[Path]:
    """Give an empty file beside the target, to be filled; it takes the target's place when all went well.

    Parameters
    ----------
    target : file wanted; absent, or a regular file that is replaced
    store_path : the store, which is never written over

    Raises
    ------
    CannotWrite
        Something else is at the target, it is the store, or its folder cannot be written.
    """
    _check(target, store_path)
    unfinished = target.absolute().parent / f".{target.name}.{secrets.token_hex(6)}.new"
    try:
        os.close(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        try:
            yield unfinished
            with unfinished.open("rb+") as file:
                os.fsync(file.fileno())
            unfinished.replace(target)
        finally:
            unfinished.unlink(missing_ok=True)
    except OSError as error:
        raise CannotWrite(f"{target} cannot be written: {error.strerror or error}. Name another file.") from None


def _check(target: Path, store_path: Path) -> None:
    try:
        found = target.lstat()
    except FileNotFoundError:
        found = None
    except OSError as error:
        raise CannotWrite(f"{target} cannot be written: {error.strerror}. Name another file.") from None
    if found is not None and not stat.S_ISREG(found.st_mode):
        raise CannotWrite(f"{target} is there and is no regular file. Name another file.")
    own = [store_path, *(store_path.with_name(store_path.name + ending) for ending in (LOG, PREVIOUS))]
    for one in own:
        same = one.exists() and found is not None and one.samefile(target)
        if same or one.absolute() == target.absolute():
            raise CannotWrite(f"{target} belongs to the store. Name another file.")
