"""Job sheets written to disk: whole or not at all, never over something that is no plain file."""

from __future__ import annotations

import os
import stat
from pathlib import Path


class NotWritten(ValueError):
    """A file that cannot be written, with what is in the way."""


def beside(path: Path, ending: str) -> Path:
    """Return a free name beside a sheet: ridge.toml gives ridge.answered.toml, then ridge.answered-2.toml."""
    names = (
        path.with_name(f"{path.stem}.{ending}{f'-{number}' if number > 1 else ''}.toml") for number in range(1, 1000)
    )
    return next(name for name in names if not os.path.lexists(name))


def write(path: Path, text: str, *, never: Path | None = None) -> None:
    """Write a sheet beside its target and rename it there.

    Parameters
    ----------
    path : target; absent, or a regular file
    text : what to write
    never : a path that must not be written over: the store

    Raises
    ------
    NotWritten
        Something else is at the path, or it cannot be written.
    """
    if never is not None and path.exists() and never.exists() and path.samefile(never):
        raise NotWritten(f"{path} is the store; name another file")
    try:
        if os.path.lexists(path) and not stat.S_ISREG(path.lstat().st_mode):
            raise NotWritten(f"{path} is no regular file; name another")
        unfinished = path.with_name(f".{path.name}.{os.getpid()}.new")
        try:
            unfinished.write_text(text, encoding="utf-8")
            unfinished.replace(path)
        finally:
            unfinished.unlink(missing_ok=True)
    except OSError as error:
        raise NotWritten(f"{path} cannot be written: {error.strerror}") from None
