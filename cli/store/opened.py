"""The store a command works on; the library's own where there is none yet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from evener.cli.output import render
from evener.opening import open_store

if TYPE_CHECKING:
    from evener.store import Store


def opened(option: Path | None) -> Store:
    """Return the store that --store, EVENER_STORE or the user's own folder names; one that is built now is told of.

    Parameters
    ----------
    option : what --store says
    """
    store = open_store(option, build=True)
    if store.built:
        render.complain(f"there was no store yet; built one with the library at {store.path}")
    return store
