"""Reading workbooks and Parquet, which others' libraries take apart, in a process of its own with bounded memory.

A crafted file can make such a library take all memory or abort; then only that process ends, and the person is told.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from typing import Any

from evener.ingest.files.grids import NoTable
from evener.schema.store import sandbox

MEMORY_BYTES = 3 << 30
CPU_SECONDS = 120
WALL_SECONDS = 180


def run(module: str, content: bytes, *arguments: str) -> dict[str, Any]:
    """Return what a module of ours finds in some bytes, read in a process of its own.

    Parameters
    ----------
    module : one whose `__main__` calls `serve`
    content : the file's bytes
    arguments : passed on

    Raises
    ------
    NoTable
        The module refused the bytes, or its process did not come back.
    """
    try:
        answer = sandbox.run(module, content, *arguments, seconds=WALL_SECONDS)
    except sandbox.TookTooLong:
        raise NoTable("takes too long to read. Save the sheet alone as CSV.") from None
    except sandbox.Ended:
        raise NoTable(
            "cannot be read within the memory and time allowed: it is damaged, or a cell far out makes the sheet huge. "
            "Save the sheet alone as CSV."
        ) from None
    if "refused" in answer:
        raise NoTable(answer["refused"])
    return answer


def serve(read: Callable[..., dict[str, Any]]) -> None:
    """Read the bytes on standard input within the limits, and write what was found to standard output as JSON.

    Parameters
    ----------
    read : takes the bytes and the arguments; a `NoTable` it raises is passed on
    """
    sandbox.hold(memory=MEMORY_BYTES, cpu_seconds=CPU_SECONDS)
    try:
        answer = read(sys.stdin.buffer.read(), *sys.argv[1:])
    except NoTable as error:
        answer = {"refused": str(error)}
    sys.stdout.write(json.dumps(answer))
