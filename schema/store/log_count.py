"""A count outside the log: how long the log was when a change was last saved in it, and at which state of the file.

A change is safe in the log before it is in the file. A log that is cut or removed in between would else answer from
older data without a word.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from pathlib import Path

from evener.schema.store import companions
from evener.schema.store.companions import CHANGE, LOG
from evener.schema.store.faults import LogLost

# The file has two headers, of which the one with the higher number holds.
_HEADERS = (4096, 8192)
_NUMBER = slice(8, 16)  # behind the header's checksum
_LARGEST = 4096


def note(path: Path) -> None:
    """Write down how long the log is; where nothing can be written, a loss cannot be noticed, and nothing else.

    Parameters
    ----------
    path : the store's file, right after a change was saved
    """
    length = _log_length(path)
    if not length:
        return
    target = companions.beside(path, CHANGE)
    unfinished = companions.unfinished(target)
    with suppress(OSError):
        try:
            with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
                json.dump({"log_bytes": length, "file_state": _state(path)}, file)
                file.flush()
                os.fsync(file.fileno())
            unfinished.replace(target)
        finally:
            unfinished.unlink(missing_ok=True)


def settle(path: Path) -> None:
    """Forget the count: the change has got from the log into the file.

    Parameters
    ----------
    path : the store's file
    """
    with suppress(OSError):
        companions.beside(path, CHANGE).unlink(missing_ok=True)


def check(path: Path) -> None:
    """Refuse a store whose log was cut or removed since a change was saved in it, as far as the count tells.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    LogLost
        A change that was saved is in neither the file nor the log.
    """
    try:
        with companions.beside(path, CHANGE).open(encoding="ascii") as file:
            noted = json.loads(file.read(_LARGEST))
        expected, state = int(noted["log_bytes"]), int(noted["file_state"])
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return
    # The log first: it is removed after the file has its new state.
    if _log_length(path) < expected and _state(path) == state:
        log = companions.beside(path, LOG).name
        raise LogLost(
            f"{path}: a change was saved in the log {log}, which is gone or was cut short. Put the log back beside the "
            f"store; or go on without the change: evener recover --store {path}"
        )


def _log_length(path: Path) -> int:
    longest = 0
    for ending in (LOG, f"{LOG}.checkpoint", f"{LOG}.recovery"):
        with suppress(OSError):
            longest = max(longest, companions.beside(path, ending).stat().st_size)
    return longest


def _state(path: Path) -> int:
    with companions.itself(path).open("rb") as file:
        head = file.read(_HEADERS[-1] + _NUMBER.stop)
    return max(int.from_bytes(head[at:][_NUMBER], "little") for at in _HEADERS)
