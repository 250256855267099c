"""A process of its own, with limits on memory, files and time, for whatever others wrote: files and questions in SQL.

What takes all memory, sleeps or aborts ends that process alone, and the caller is told.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from typing import Any

_STOPPED_BY_CLOCK = 14  # SIGALRM


class Ended(Exception):
    """A process that came back without an answer; the text is the last thing it said."""


class TookTooLong(Ended):
    """A process that was stopped by the clock."""


def run(module: str, content: bytes, *arguments: str, seconds: float) -> dict[str, Any]:
    """Return what a module of ours answers about some bytes, run in a process of its own.

    Parameters
    ----------
    module : one that reads standard input when it is run, and writes one JSON object to standard output
    content : what it reads
    arguments : passed on
    seconds : longest it may take [s]

    Raises
    ------
    TookTooLong
        It was stopped by the clock.
    Ended
        It came back without an answer.
    """
    # -P: a file in the working folder that is called like a module must not be taken for it.
    command = [sys.executable, "-P", "-m", module, *arguments]
    try:
        done = subprocess.run(command, input=content, capture_output=True, check=False, timeout=seconds)  # noqa: S603
    except subprocess.TimeoutExpired:
        raise TookTooLong from None
    try:
        answer: dict[str, Any] = json.loads(done.stdout)
    except ValueError:
        if done.returncode == -_STOPPED_BY_CLOCK:
            raise TookTooLong from None
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise Ended(said[-1] if said else f"status {done.returncode}") from None
    return answer


def hold(
    *, memory: int, file_size: int | None = None, cpu_seconds: int | None = None, wall_seconds: float | None = None
) -> None:
    """Bound this process where the system can; the caller's clock holds everywhere.

    Parameters
    ----------
    memory : address space at most [byte]
    file_size : longest file it may write [byte]
    cpu_seconds : processor time at most [s]
    wall_seconds : life at most [s]
    """
    if wall_seconds is not None and hasattr(signal, "setitimer"):
        # The default action ends the process even inside a library, and even when the caller is gone.
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.setitimer(signal.ITIMER_REAL, wall_seconds)
    try:
        import resource
    except ImportError:
        return
    asked = (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_FSIZE, file_size),
        (resource.RLIMIT_CPU, cpu_seconds),
        (resource.RLIMIT_CORE, 0),
    )
    for what, most in asked:
        if most is None:
            continue
        _, hard = resource.getrlimit(what)
        lower = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (lower, lower))
