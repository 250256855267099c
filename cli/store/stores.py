"""Where the store is, and the library store that is built there the first time."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.ingest.store.batches import After

VARIABLE = "EVENER_STORE"
FILE_NAME = "store.duckdb"


def location(option: Path | None = None) -> Path:
    """Return where the store is: as the option says, else the environment, else the user's own data folder.

    Parameters
    ----------
    option : what --store says
    """
    if option is not None:
        return option
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("evener") / FILE_NAME


def ensure_library_store(option: Path | None = None, after: After | None = None) -> Path:
    """Return where the store is, after filling it with the library if nothing is there yet.

    Parameters
    ----------
    option : what --store says
    after : called when the library's implement records are in; the ratings are fitted when it is left out

    Raises
    ------
    evener.schema.store.connection.StoreError
        The folder cannot be written. Something at the path that is no store is left for the reader to refuse.
    """
    path = location(option)
    if os.path.lexists(path):
        return path
    from evener.schema.store import shipped

    if not shipped.lay_out(path):
        from evener.ingest.store import library

        if after is None:
            from evener.scoring.ratings.model import refresh

            after = refresh
        library.build(path, after=after)
    sys.stderr.write(f"evener: there was no store yet; built one with the library at {path}\n")
    return path
