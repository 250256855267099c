"""How a command begins and ends: whatever happens is one line and a status, never a traceback nobody asked for.

0 done; 1 done, with findings or nothing that meets the work; 2 wrong use or unreadable input; 3 the store is busy or
damaged; 70 a fault of the program; 130 interrupted.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Any, NoReturn

from evener.cli.output import streams

WRONG_USE, OUT_OF_MEMORY, FAULT, INTERRUPTED = 2, 3, 70, 130
DEBUG = "--debug"
_SENTENCE = frozenset(["A", "An", "It", "No", "Nothing", "The", "There", "This"])
Command = Callable[..., object]


def hold(load: Callable[[], Command]) -> NoReturn:
    """Run the command line and leave with its status.

    Parameters
    ----------
    load : returns what runs it; called within, since importing it takes long enough to be interrupted
    """
    streams.guard()
    debug = _debug_asked(sys.argv)
    interrupts = _Interrupts()
    status = INTERRUPTED
    try:
        try:
            status = _status(load)
        except BaseException as error:  # noqa: BLE001  the last resort
            status = _ended(error, interrupts, debug=debug)
        interrupts.ignore()
    except KeyboardInterrupt:
        interrupts.ignore()
    if interrupts.met and status != INTERRUPTED:
        status = _ended(KeyboardInterrupt(), interrupts, debug=debug)
    sys.exit(status)


class _Interrupts:
    """Remembers that Ctrl-C was pressed: libraries turn it into errors of their own."""

    def __init__(self) -> None:
        self.met = False
        self._watching = (
            threading.current_thread() is threading.main_thread()
            and signal.getsignal(signal.SIGINT) is signal.default_int_handler
        )
        if self._watching:
            signal.signal(signal.SIGINT, self._take)

    def _take(self, *_: Any) -> None:
        self.met = True
        raise KeyboardInterrupt

    def ignore(self) -> None:
        """Let a Ctrl-C pass while the program ends: what it did is done, and the status says so."""
        if self._watching:
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            # Python dies by the signal once text it ran (as dataclasses do) was interrupted; the next text ends that.
            exec("")  # noqa: S102


def _status(load: Callable[[], Command]) -> int:
    try:
        load()(prog_name="evener")
        return 0
    finally:
        sys.stdout.flush()


def _ended(error: BaseException, interrupts: _Interrupts, *, debug: bool) -> int:
    """Say what ended the command, and return its status."""
    said = next((one for one in _chain(error) if isinstance(one, KeyboardInterrupt)), None)
    if interrupts.met or isinstance(error, KeyboardInterrupt) or (_code(error) == INTERRUPTED and said is not None):
        _drop_output()
        own = str(said or "") or "what was being written is there whole or not at all"
        streams.tell(f"interrupted; {own}")
        return INTERRUPTED
    if isinstance(error, SystemExit):
        return _code(error)
    if debug:
        import traceback

        sys.stderr.write("".join(traceback.format_exception(error)))
    if isinstance(error, BrokenPipeError):
        _drop_output()
        return 1
    known = _known(error)
    if known is not None:
        streams.tell(known[0])
        return known[1]
    _drop_output()
    _tell_fault(error, debug=debug)
    return FAULT


def _known(error: BaseException) -> tuple[str, int] | None:
    """Return what is said of an error that has a place in the plan, and its status."""
    status = getattr(error, "exit_status", None)
    if status is not None:
        from evener.enquiry.refused import WrongUse

        option = "--" if isinstance(error, WrongUse) else ""
        return f"{option}{_begun_small(str(error))}", status
    if isinstance(error, MemoryError):
        return "this takes more memory than there is. Ask for less, or part the file.", OUT_OF_MEMORY
    if isinstance(error, OSError):
        _drop_output()
        reason = error.strerror or type(error).__name__
        named = isinstance(error.filename, str | bytes | os.PathLike)
        return (
            f"{os.fsdecode(error.filename)}: {reason}" if named else f"the answer cannot be written: {reason}",
            WRONG_USE,
        )
    return None


def _begun_small(text: str) -> str:
    """Return a sentence as it stands after a colon; what begins with a name or a path stays."""
    word = text.partition(" ")[0]
    return f"{text[:1].lower()}{text[1:]}" if word in _SENTENCE else text


def _tell_fault(error: BaseException, *, debug: bool) -> None:
    kind = type(error).__name__
    if debug:
        streams.tell(f"a fault of the program ({kind}), not of yours")
        return
    from evener.cli import fault_log

    command = next((word for word in sys.argv[1:] if word.isidentifier()), "none")
    path = fault_log.keep(error, command)
    kept = f"How it came about is in {path}: please read and send it" if path else f"{DEBUG} shows how it came about"
    streams.tell(f"a fault of the program ({kind}), not of yours. {kept}{f'; or see it with {DEBUG}' if path else ''}.")


def _chain(error: BaseException | None) -> Iterator[BaseException]:
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        yield error
        seen.add(id(error))
        error = error.__cause__ or error.__context__


def _code(error: BaseException) -> int:
    if not isinstance(error, SystemExit):
        return FAULT
    return error.code if isinstance(error.code, int) else int(error.code is not None)


def _drop_output() -> None:
    with suppress(OSError, ValueError):
        streams.close_output()


def _debug_asked(arguments: list[str]) -> bool:
    """Take --debug out of the arguments, wherever before -- it stands, and tell whether it was there."""
    until = arguments.index("--") if "--" in arguments else len(arguments)
    if DEBUG not in arguments[:until]:
        return False
    arguments.remove(DEBUG)
    return True
