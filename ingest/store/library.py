"""The starting library: generic tractor classes and implement records, and the tables of parameters they rest on.

It goes into a new store by the same path that users' files take.
"""

from __future__ import annotations

import hashlib
import os
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import ClassVar

from evener.ingest.files import readers
from evener.ingest.rows.rows import known_in, prepare
from evener.ingest.store import batches
from evener.ingest.store.batches import After
from evener.schema import fields
from evener.schema.store import connection as store


class LibraryError(Exception):
    """A row of the shipped library that its own ingest refuses: a fault of the installation, not of the user."""

    exit_status: ClassVar[int] = 3


def files() -> list[tuple[str, Traversable]]:
    """Return the library's files with the kind of record each holds, in the order in which they lean on each other."""
    schema = resources.files("evener.schema")
    parameters = ["source", "family", *fields.reference_records()]
    return [
        *((record, schema.joinpath("reference", f"{fields.file_name(record)}.csv")) for record in parameters),
        ("tractor", schema.joinpath("library", "tractor_classes.csv")),
        ("implement", schema.joinpath("library", "implement_records.csv")),
    ]


def fingerprint() -> str:
    """Return a hash of all library files, which tells one library from the next."""
    whole = hashlib.sha256()
    for record, file in files():
        whole.update(record.encode() + b"\0" + file.read_bytes() + b"\0")
    return whole.hexdigest()


def build(path: Path, *, after: After | None = None) -> None:
    """Make a new store and fill it with the library: whole, or not at all.

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
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise store.StoreForbidden(f"{path.parent} cannot be made: {error.strerror}. Use --store.") from None
    if os.path.lexists(path):
        raise store.StoreForbidden(f"{path} exists already. Name a new file.")
    unfinished = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        with store.create(unfinished) as con:
            for record, file in files():
                rows = prepare(readers.read_bytes(file.read_bytes(), file.name), record, known_in(con))
                refusing = [finding for finding in rows.findings if finding.refuses]
                if refusing:
                    first = refusing[0]
                    raise LibraryError(f"{file.name}, line {first.row}: {first.message}. Install the package again.")
                batches.load(con, rows, after=after if record == "implement" else None)
            con.execute("UPDATE store SET library_sha256 = ?", [fingerprint()])
        _settle(unfinished, path)
    finally:
        unfinished.unlink(missing_ok=True)


def _settle(unfinished: Path, path: Path) -> None:
    try:
        # A link refuses to take the place of a store that another process finished meanwhile; a rename would not.
        os.link(unfinished, path)
    except FileExistsError:
        return
    except OSError:
        unfinished.rename(path)
