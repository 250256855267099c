"""Where the store is, and the library store that is built there the first time."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from evener.schema.store.faults import NoStore, NotAStore

if TYPE_CHECKING:
    from evener.store import Store

VARIABLE = "EVENER_STORE"
FILE_NAME = "store.duckdb"


def location(path: str | Path | None = None) -> Path:
    """Return where the store is: as said, else in EVENER_STORE, else in the user's own data folder.

    Parameters
    ----------
    path : the store's file, where it is said
    """
    if path is not None:
        return Path(path)
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("evener") / FILE_NAME


def open_store(path: str | Path | None = None, *, build: bool | None = None) -> Store:
    """Open a store; where the usual one is not there yet, build it with the library.

    Parameters
    ----------
    path : the store's file; in EVENER_STORE or the user's own data folder when left out
    build : whether to build the library store where nothing is; when left out, only in the user's own data folder,
        where no path was said

    Returns
    -------
    Store
        Nothing is held open; each call reads the file anew where it has changed.

    Raises
    ------
    evener.NoStore
        Nothing is at the path.
    evener.StoreError
        Something else is there, or the folder cannot be written.
    """
    from evener.store import Store

    where = location(path)
    if os.path.lexists(where):
        _renew(where)
        return Store(where)
    if not (path is None and not os.environ.get(VARIABLE) if build is None else build):
        said = f"{where} ({VARIABLE})" if path is None else str(where)
        raise NoStore(
            f"there is no store at {said}. Check the name; a new one is made with: evener ingest ... --new-store, "
            "or evener demo FOLDER."
        )
    from evener.schema.store import shipped

    if not shipped.lay_out(where):
        from evener.ingest.store import library
        from evener.scoring.ratings.model import refresh

        library.build(where, after=refresh)
    return Store(where, built=True)


def _renew(path: Path) -> None:
    """Bring a store's tables and its library up to those of this version, and the fits that rest on them."""
    from evener.schema.store import renewal
    from evener.schema.store.connection import bring_up_to_date
    from evener.scoring.ratings.model import refresh

    with suppress(NotAStore):  # the first reader says so
        bring_up_to_date(path)
        renewal.renew(path, after=refresh)
