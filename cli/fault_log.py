"""What is kept of a fault of the program itself: a text file that its user can read and send."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

MOST_KEPT = 20
_BEGINS, _ENDS = "fault-", ".txt"


def keep(error: BaseException, command: str) -> Path | None:
    """Write down how a fault came about, and return where; None where nothing can be written.

    Parameters
    ----------
    error : the fault
    command : the command that met it
    """
    text = account(error, command)
    for folder in _folders():
        with suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True)
            now = datetime.now(UTC)
            path = folder / f"{_BEGINS}{now:%Y%m%d-%H%M%S-%f}-{os.getpid()}{_ENDS}"
            # What went wrong may hold a name or a figure of a customer.
            with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
                file.write(text)
            _drop_oldest(folder)
            return path
    return None


def account(error: BaseException, command: str) -> str:
    """Return how a fault came about, without the names of the user's own folders.

    Parameters
    ----------
    error : the fault
    command : the command that met it
    """
    told = "".join(traceback.format_exception(error))
    for folder, instead in _own_folders():
        told = told.replace(folder, instead)
    python = ".".join(map(str, sys.version_info[:3]))
    head = f"evener {_version()}, Python {python}, {platform.system()} {platform.machine()}, command {command}\n\n"
    return (head + told).encode("utf-8", "backslashreplace").decode()


def _folders() -> list[Path]:
    folders = []
    with suppress(Exception):  # whatever is wrong with the surroundings, the fault itself is to be told
        from platformdirs import user_log_path

        folders.append(user_log_path("evener"))
    with suppress(OSError):
        folders.append(Path(tempfile.gettempdir()))
    return folders


def _own_folders() -> list[tuple[str, str]]:
    found = []
    with suppress(OSError, RuntimeError):
        found.append((str(Path.cwd()), "."))
    with suppress(OSError, RuntimeError):
        found.append((str(Path.home()), "~"))
    # The longer first: one is often within the other.
    return sorted((one for one in found if len(one[0]) > 1), key=lambda one: -len(one[0]))


def _version() -> str:
    try:
        from importlib.metadata import version

        return version("evener")
    except Exception:  # noqa: BLE001  as in _folders
        return "of unknown version"


def _drop_oldest(folder: Path) -> None:
    kept = sorted(folder.glob(f"{_BEGINS}*{_ENDS}"))
    for old in kept[:-MOST_KEPT]:
        old.unlink(missing_ok=True)
