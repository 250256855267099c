"""Where text leaves the program: nothing that passes drives a terminal, and what an encoding lacks is replaced."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any, TextIO

from evener.schema import printable


class Shown:
    """A stream that shows what would drive a terminal, instead of passing it on."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write text; controls but for line ends and tabs are escaped.

        Parameters
        ----------
        text : from whatever source
        """
        shown = printable.lines(text)
        encoding = self._stream.encoding or "utf-8"
        try:
            shown.encode(encoding)
        except UnicodeEncodeError:
            shown = shown.encode(encoding, "backslashreplace").decode(encoding)
        self._stream.write(shown)
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def guard() -> None:
    """Put both outputs behind the guard; one that the caller closed leads nowhere, and a closed input is empty."""
    _fill_descriptors()
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if not isinstance(stream, Shown):
            setattr(sys, name, Shown(_nowhere("w") if stream is None else stream))
    if sys.stdin is None:
        sys.stdin = _nowhere("r")


def tell(text: str) -> None:
    """Write one line about the program itself to stderr.

    Parameters
    ----------
    text : what to say; line ends in it are escaped
    """
    sys.stderr.write(f"evener: {printable.one_line(text)}\n")


def close_output() -> None:
    """Drop what is left for stdout: it would be tried again at the end, and fail again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _fill_descriptors() -> None:
    # A file opened later, such as the store, would else get the number of a closed output, and be written as one.
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)


def _nowhere(mode: str) -> TextIO:
    return Path(os.devnull).open(mode, encoding="utf-8")  # type: ignore[return-value]
