"""The store a command works on; the library's own where there is none yet."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from evener.cli.output import render
from evener.opening import location, open_store
from evener.schema.store.faults import StoreForbidden

if TYPE_CHECKING:
    from evener.store import Store


def opened(option: Path | None, *, new: bool = False) -> Store:
    """Return the store that --store, EVENER_STORE or the user's own folder names; one that is built now is told of.

    Parameters
    ----------
    option : what --store says
    new : whether a new one is asked for

    Raises
    ------
    evener.NoStore
        The path that was said holds none: a slip in a name must not look like an empty stock.
    evener.StoreError
        A new one is asked for where something is.
    """
    where = location(option)
    if new and os.path.lexists(where):
        raise StoreForbidden(f"{where} is there already. Leave out --new-store, or name another with --store.")
    store = open_store(option, build=True if new else None)
    if store.built:
        render.complain(f"there was no store yet; built one with the library at {store.path}")
    return store
