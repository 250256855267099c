"""A way back where a store's log cannot be replayed.

A damaged log goes aside, nothing is deleted, and what is lost is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from evener.schema.store import companions, reading
from evener.schema.store import connection as store
from evener.schema.store.companions import ASIDE, LOG, PREVIOUS


@dataclass(frozen=True)
class Recovered:
    """What was done about a log that could not be replayed.

    Attributes
    ----------
    aside : where the log lies now, or None where the store needed nothing
    last_batch : last ingest that the store holds: id, file and time (UTC); None where it holds none
    previous : the copy from before the last ingest, where there is one
    """

    aside: Path | None
    last_batch: tuple[str, str, datetime] | None
    previous: Path | None


def recover(path: Path) -> Recovered:
    """Move a store's log aside if the store cannot be read with it, and see that it can be read without.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    evener.schema.store.connection.StoreError
        There is no store, it is in use, or it cannot be read without its log either; everything is as it was.
    """
    copy = companions.beside(path, PREVIOUS)
    previous = copy if copy.exists() else None
    try:
        return Recovered(None, _last_batch(path), previous)
    except store.LogDamaged:
        store.check_writable(path)
    log = companions.beside(path, LOG)
    aside = companions.free(log.with_name(log.name + ASIDE))
    log.rename(aside)
    try:
        return Recovered(aside, _last_batch(path), previous)
    except store.StoreError:
        aside.rename(log)
        raise


def _last_batch(path: Path) -> tuple[str, str, datetime] | None:
    with store.open_read(path) as con:
        return reading.last_batch(con)
