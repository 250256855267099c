"""The one gate for every file that is written.

A file is written beside its target and renamed, so that nobody ever sees half of one. It is never one that was read,
never the store or what belongs to it, and one that is there already only where that was said.
"""

from __future__ import annotations

import os
import shutil
import stat
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from evener.schema.store import companions
from evener.schema.store.faults import StoreError


class CannotWrite(StoreError):
    """A file that is not written; the text says why."""

    exit_status = 2


@contextmanager
def written(
    target: Path, store_path: Path | None, *, inputs: Iterable[Path] = (), replace: bool = False
) -> Iterator[Path]:
    """Give an empty file beside the target, to be filled; it takes the target's place when all went well.

    Parameters
    ----------
    target : file wanted; absent, or a regular file where `replace` is said
    store_path : the store, which is never written over; None where there is none
    inputs : files that were read for it, which are never written over either
    replace : whether a file that is there may be replaced

    Raises
    ------
    CannotWrite
        Something is at the target, it was read or belongs to the store, or its folder cannot be written.
    """
    check_target(target, store_path, inputs=inputs, replace=replace)
    unfinished = companions.unfinished(target)
    try:
        os.close(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666))
        try:
            yield unfinished
            with unfinished.open("rb+") as file:
                os.fsync(file.fileno())
            _take_place(unfinished, target, replace=replace)
        finally:
            unfinished.unlink(missing_ok=True)
    except OSError as error:
        raise CannotWrite(f"{target} cannot be written: {error.strerror or error}. Name another file.") from None


def write(
    target: Path,
    content: str | bytes,
    store_path: Path | None,
    *,
    inputs: Iterable[Path] = (),
    replace: bool = False,
) -> None:
    """Write one file, whole or not at all; as `written`.

    Parameters
    ----------
    target, store_path, inputs, replace : as `written` takes them
    content : what to write; text as UTF-8
    """
    with written(target, store_path, inputs=inputs, replace=replace) as unfinished:
        unfinished.write_bytes(content.encode() if isinstance(content, str) else content)


@contextmanager
def written_into(folder: Path, store_path: Path | None, *, replace: bool = False) -> Iterator[Path]:
    """Give an empty folder, to be filled with files; they go into the folder wanted when all went well.

    Parameters
    ----------
    folder : where they are wanted; made where it is missing
    store_path, replace : as `written` takes them

    Raises
    ------
    CannotWrite
        As `written`, for any of the files: then none is written.
    """
    made = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".", suffix=".new") as unfinished:
            yield Path(unfinished)
            files = sorted(one for one in Path(unfinished).iterdir() if one.is_file())
            for file in files:
                check_target(folder / file.name, store_path, replace=replace)
            for file in files:
                with written(folder / file.name, store_path, replace=replace) as one:
                    shutil.copyfile(file, one)
    except OSError as error:
        raise CannotWrite(f"{folder} cannot be written into: {error.strerror or error}. Name another folder.") from None
    finally:
        if made:
            with suppress(OSError):
                folder.rmdir()  # which only takes one that stayed empty


def check_target(target: Path, store_path: Path | None, *, inputs: Iterable[Path] = (), replace: bool = False) -> None:
    """Refuse a target before anything is done that is to end in it.

    Parameters and errors are those of `written`.
    """
    try:
        found = target.lstat()
    except (FileNotFoundError, NotADirectoryError):
        found = None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise CannotWrite(f"{target} cannot be written: {reason}. Name another file.") from None
    if store_path is not None and companions.belongs(target, store_path):
        raise CannotWrite(f"{target} belongs to the store. Name another file.")
    if found is None:
        return
    if any(_is_file(one, target) for one in inputs):
        raise CannotWrite(f"{target} is what was read, and is never written over. Name another file.")
    if not stat.S_ISREG(found.st_mode):
        raise CannotWrite(f"{target} is there and is no regular file. Name another file.")
    if not replace:
        raise CannotWrite(f"{target} is there already. Name another file, or add --replace to write over it.")


def _is_file(one: Path, target: Path) -> bool:
    try:
        return one.samefile(target)
    except (OSError, ValueError):
        return False


def _take_place(unfinished: Path, target: Path, *, replace: bool) -> None:
    """Give a finished file its name; without `replace` only where nothing took the name meanwhile."""
    if replace:
        unfinished.replace(target)
        return
    try:
        os.link(unfinished, target)
    except FileExistsError:
        raise CannotWrite(f"{target} is there already. Name another file, or add --replace to write over it.") from None
    except OSError:  # a file system without links
        unfinished.rename(target)
