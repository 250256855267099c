"""The starting library: generic tractor classes and implement records, and the tables of parameters they rest on.

It goes into a new store by the same path that users' files take, or as it was built so before it was shipped.
"""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from evener.ingest.files import readers
from evener.ingest.rows.known import known_in
from evener.ingest.rows.preparing import prepare
from evener.ingest.store import batches
from evener.ingest.store.batches import After
from evener.schema.store import batches as entries
from evener.schema.store import connection as store
from evener.schema.store import shipped


class LibraryError(Exception):
    """A row of the shipped library that its own ingest refuses: a fault of the installation, not of the user."""

    exit_status: ClassVar[int] = 3


def build(path: Path, *, after: After | None = None) -> None:
    """Make a new store and fill it with the library's files: whole, or not at all.

    Parameters
    ----------
    path : where; nothing may be there. Its folder is made when it is missing
    after : called when the implement records are in

    Raises
    ------
    evener.schema.store.connection.StoreError
        Something is there already, or the folder cannot be written.
    LibraryError
        The shipped files contradict themselves.
    """
    unfinished = shipped.room_beside(path)
    try:
        with store.create(unfinished) as con:
            for record, file in shipped.files():
                rows = prepare(readers.read_bytes(file.read_bytes(), file.name), record, known_in(con))
                refusing = [finding for finding in rows.findings if finding.refuses]
                if refusing:
                    first = refusing[0]
                    raise LibraryError(f"{file.name}, line {first.row}: {first.message}. Install the package again.")
                batches.load(con, rows, after=after if record == "implement" else None)
            entries.enter_library(con, shipped.fingerprint())
        shipped.take_place(unfinished, path)
    finally:
        unfinished.unlink(missing_ok=True)
