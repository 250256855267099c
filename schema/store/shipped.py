"""The library as it is shipped: the files it is made of, and a store that was built from them beforehand.

Building takes the whole path of users' files, with every library that needs; a first answer should not wait for that.
The built store is 0.1 MB packed and is laid out as it is, within a fifth of a second. It says of which files it was
made: where one was changed since, as by an expert who corrects a row, it is left alone and a store is built from the
files.
"""

from __future__ import annotations

import gzip
import hashlib
import os
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from evener.schema import fields, tables
from evener.schema.store import log_count
from evener.schema.store.faults import StoreForbidden

PACKED, MADE_OF = "store.duckdb.gz", "store.sha256"
_SHAPE = ("fields.csv", "units.csv", "plausibility.csv", "peers.csv")


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
    """Return a hash of all that a library store is made of, which tells one library from the next."""
    schema = resources.files("evener.schema")
    whole = hashlib.sha256(str(tables.STORE_VERSION).encode())
    for name, file in [*files(), *((name, schema.joinpath(name)) for name in _SHAPE)]:
        whole.update(name.encode() + b"\0" + file.read_bytes() + b"\0")
    return whole.hexdigest()


def packed_fingerprint() -> str | None:
    """Return the hash of what the shipped store was made of; None where its files were changed since."""
    made_of = resources.files("evener.schema").joinpath("library", MADE_OF)
    said = made_of.read_text(encoding="ascii").strip() if made_of.is_file() else None
    return said if said == fingerprint() else None


def lay_out(path: Path) -> bool:
    """Put the built store at a path, if it is current, and tell whether it was.

    Parameters
    ----------
    path : where; nothing may be there. Its folder is made when it is missing

    Raises
    ------
    StoreForbidden
        Something is there already, or the folder cannot be written.
    """
    packed = resources.files("evener.schema").joinpath("library", PACKED)
    if not packed.is_file() or packed_fingerprint() is None:
        return False
    unfinished = room_beside(path)
    try:
        with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(gzip.decompress(packed.read_bytes()))
            file.flush()
            os.fsync(file.fileno())
        take_place(unfinished, path)
    except OSError as error:
        raise StoreForbidden(f"{path} cannot be written: {error.strerror}. Use --store.") from None
    finally:
        unfinished.unlink(missing_ok=True)
    return True


def room_beside(path: Path) -> Path:
    """Return where a store can be made beside its path until it is whole; the folder is made when it is missing.

    Raises
    ------
    StoreForbidden
        Something is at the path already, or the folder cannot be made.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreForbidden(f"{path.parent} cannot be made: {error.strerror}. Use --store.") from None
    if os.path.lexists(path):
        raise StoreForbidden(f"{path} exists already. Name a new file.")
    return path.with_name(f".{path.name}.{os.getpid()}.new")


def take_place(unfinished: Path, path: Path) -> None:
    """Give a store that is whole its name, unless another process finished one there meanwhile.

    Parameters
    ----------
    unfinished : the store
    path : its name
    """
    log_count.settle(path)  # of a store that was here before
    try:
        # A link refuses to take the place of a store that another process finished meanwhile; a rename would not.
        os.link(unfinished, path)
    except FileExistsError:
        return
    except OSError:
        unfinished.rename(path)


def pack(path: Path) -> None:
    """Pack a store that was just built from the files as the one to be shipped with them.

    Parameters
    ----------
    path : the store
    """
    folder = Path(str(resources.files("evener.schema").joinpath("library")))
    folder.joinpath(PACKED).write_bytes(gzip.compress(path.read_bytes(), mtime=0))
    folder.joinpath(MADE_OF).write_text(fingerprint() + "\n", encoding="ascii")
