"""A way back where a store's log cannot be replayed.

A damaged log goes aside, or the copy from before the last ingest takes the store's place. Nothing is deleted, and what
is lost is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from evener.schema.store import companions, reading
from evener.schema.store import connection as store
from evener.schema.store.companions import ASIDE, CHANGE, LOG, PREVIOUS
from evener.schema.store.faults import LogLost, NoStore
from evener.schema.store.keeping import backups


@dataclass(frozen=True)
class Recovered:
    """What was done about a log that could not be replayed.

    Attributes
    ----------
    aside : where the log lies now, or None where it was not moved
    log_lost : whether the log was gone or cut short, so that a change that was saved in it is lost
    last_batch : last ingest that the store holds: id, file and time (UTC); None where it holds none
    previous : the copy from before the last ingest, where there is one
    """

    aside: Path | None
    log_lost: bool
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
        return Recovered(None, log_lost=False, last_batch=_last_batch(path), previous=previous)
    except LogLost:
        store.check_writable(path)
        return _without_count(path, previous)
    except store.LogDamaged:
        store.check_writable(path)
    log = companions.beside(path, LOG)
    aside = companions.free(log.with_name(log.name + ASIDE))
    log.rename(aside)
    try:
        return _without_count(path, previous, aside)
    except store.StoreError:
        aside.rename(log)
        raise


def take_previous(path: Path) -> backups.Restored:
    """Bring back the copy from before the last ingest that was begun; the store from before is kept beside it.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    evener.schema.store.connection.StoreError
        There is no such copy, it is damaged itself, or the store is in use; everything is as it was.
    """
    copy = companions.beside(path, PREVIOUS)
    if not copy.exists():
        raise NoStore(f"there is no copy {copy.name} beside {path}. Use a backup: evener restore FILE")
    return backups.restore(path, copy)


def _without_count(path: Path, previous: Path | None, aside: Path | None = None) -> Recovered:
    """Put the count of what the log held aside too, which says no more than that it is lost."""
    count = companions.beside(path, CHANGE)
    moved = companions.free(count.with_name(count.name + ASIDE))
    held = count.exists()
    if held:
        count.rename(moved)
    try:
        return Recovered(aside, log_lost=aside is None, last_batch=_last_batch(path), previous=previous)
    except store.StoreError:
        if held:
            moved.rename(count)
        raise


def _last_batch(path: Path) -> tuple[str, str, datetime] | None:
    with store.open_read(path) as con:
        return reading.last_batch(con)
