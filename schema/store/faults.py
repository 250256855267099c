"""What can be wrong with the file a store is in, found before DuckDB touches it or read from what DuckDB says."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import ClassVar

from evener.schema.store import companions
from evener.schema.store.companions import LOG, PREVIOUS

MAGIC = b"DUCK"
MAGIC_OFFSET = 8
MEMORY_LIMIT = "2GB"


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


class StoreOutdated(StoreError):
    """The store was made by a version of the tool whose tables have another shape."""

    exit_status: ClassVar[int] = 2


class StoreBusy(StoreError):
    """Another process holds the store."""


class StoreDamaged(StoreError):
    """The file is a store that cannot be read whole."""


class LogDamaged(StoreDamaged):
    """The store's log, which holds changes not yet in its file, cannot be replayed."""


class LogLost(StoreDamaged):
    """The store's log, which held a change not yet in its file, is gone or was cut short."""


class DiskFailed(StoreError):
    """The disk reported an error while the store was read or written."""


class StoreFull(StoreError):
    """The disk took no more; nothing was changed."""


class LogNotEmptied(StoreError):
    """A change was saved in the log beside the store, and did not get from there into its file."""


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
        raise NoStore(
            f"There is no store at {path}. Check the name; a new one is made with: evener ingest ... --new-store, "
            "or evener demo FOLDER."
        ) from None
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


def first_line(error: Exception) -> str:
    """Return the first line of what an error says."""
    return (str(error).splitlines() or [type(error).__name__])[0]


def explain(path: Path, error: Exception) -> StoreError:
    """Return the fault that an error of DuckDB stands for, with what to do about it."""
    text = str(error)
    if "Could not set lock" in text or "different configuration" in text:
        holder = re.search(r"PID (\d+)", text)
        who = f"process {holder[1]}" if holder else "this process"
        return StoreBusy(f"{path} is in use by {who}. Try again when it is done.")
    if re.search(r"no space|disk full|ENOSPC|quota|file too large", text, re.IGNORECASE):
        return StoreFull(f"{path}: the disk is full. Nothing was changed; make room and run the command again.")
    if re.search(r"input/output error|\bEIO\b|f(?:data)?sync", text, re.IGNORECASE):
        return DiskFailed(
            f"{path}: the disk reported an error ({first_line(error)}). The last change is there whole or not at all; "
            f"look to the disk, then: evener verify --store {path}"
        )
    if re.search(r"permission|read-only file system", text, re.IGNORECASE):
        return StoreForbidden(f"{path} may not be opened by this user. Check its rights.")
    if "replaying WAL" in text or "Corrupt WAL" in text:
        log = companions.beside(path, LOG).name
        return LogDamaged(f"{path}: its log {log} is damaged. Move the log aside with: evener recover --store {path}")
    if re.search(r"out of memory|could not allocate", text, re.IGNORECASE):
        return StoreFull(f"{path}: the change needs more than {MEMORY_LIMIT} of memory. Nothing was changed; part it.")
    copy = companions.beside(path, PREVIOUS)
    remedy = f"The copy from before the last ingest is {copy.name}." if copy.exists() else "Use a copy of it."
    return StoreDamaged(f"{path} cannot be read whole ({first_line(error)}). {remedy}")
