"""A store copied to a safe place, and brought back from there: checked before and after, the old one kept."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from evener.schema.store import companions, copies, engine, log_count
from evener.schema.store.companions import ASIDE, CHANGE, LOG
from evener.schema.store.faults import (
    NoStore,
    NotAStore,
    StoreBusy,
    StoreDamaged,
    StoreError,
    StoreForbidden,
    StoreFull,
    check_readable,
)
from evener.schema.store.keeping.verifying import Verified, hash_of, verify


class NotSafe(StoreDamaged):
    """A store with findings, of which no backup is made and which is not brought back; the findings are named."""


@dataclass(frozen=True)
class Restored:
    """What was done to bring a store back.

    Attributes
    ----------
    verified : what the store holds now
    aside : where the store from before lies, or None where there was none
    lost : ingests that the store from before held and this one does not; None where that one could not be read
    """

    verified: Verified
    aside: Path | None
    lost: tuple[str, ...] | None


def back_up(path: Path, unfinished: Path) -> Verified:
    """Copy a store into an empty file, checked before and after; what stands in its log alone comes along.

    Parameters
    ----------
    path : the store's file
    unfinished : the file, which the caller gives its name when this returns

    Raises
    ------
    NotSafe
        The store has findings.
    evener.schema.store.faults.StoreError
        It is busy or damaged, or there is no room.
    """
    _safe(path)
    copies.copy_into(path, unfinished)
    found = _safe(unfinished)
    if hash_of(path) != found.sha256:
        raise StoreBusy(f"{path} was written while it was copied. Try again when the other command is done.")
    return found


def restore(path: Path, backup: Path) -> Restored:
    """Bring a store back from a copy, checked before and after; the store from before is kept under another name.

    Parameters
    ----------
    path : where the store is to be
    backup : the copy, which stays as it is

    Raises
    ------
    NotSafe
        The copy has findings; nothing was changed.
    evener.schema.store.faults.StoreError
        The copy is no store, the store is in use, or there is no room; nothing was changed.
    """
    check_readable(backup)
    if companions.itself(path).exists() and backup.samefile(path):
        raise StoreForbidden(f"{backup} is the store itself. Name the copy to bring back.")
    held = _held(path)
    with engine.reading(backup):
        pass  # a fault is told under the name that was said
    own = companions.itself(path)
    unfinished = companions.unfinished(own)
    try:
        # The copy of the copy is what is verified: an older one is brought up to date there, and stays as it is.
        copies.copy_into(backup, unfinished)
        _safe(unfinished, called=backup)
        found = verify(unfinished)
        aside = _change_places(own, unfinished)
    except OSError as error:
        raise StoreFull(f"{path} cannot be written: {error.strerror}. The store is as it was.") from None
    finally:
        for ending in ("", LOG):
            unfinished.with_name(unfinished.name + ending).unlink(missing_ok=True)
        for left in unfinished.parent.glob(f"{unfinished.name}.version-*"):
            left.unlink()
    kept = _batches(own)
    lost = (
        None if held is None else tuple(f"{name} ({file})" for name, file in held if (name, file) not in (kept or []))
    )
    return Restored(found, aside, lost)


def _safe(path: Path, *, called: Path | None = None) -> Verified:
    found = verify(path)
    if found.findings:
        more = f" ({len(found.findings) - 1} more: evener verify)" if len(found.findings) > 1 else ""
        raise NotSafe(f"{called or path} is not safe to go by: {found.findings[0]}{more}.")
    return found


def _held(path: Path) -> list[tuple[str, str]] | None:
    """Return the ingests of the store that is there; none where none is, None where it cannot be read."""
    try:
        with engine.writing(path):
            pass  # brings what stands in the log into the file, and meets whoever else has the store open
    except NoStore:
        return []
    except (StoreBusy, StoreForbidden, NotAStore):
        raise
    except StoreError:
        return None
    return _batches(path)


def _batches(path: Path) -> list[tuple[str, str]] | None:
    try:
        with engine.reading(path) as con:
            return con.execute("SELECT batch_id, file_name FROM batch ORDER BY batch_id").fetchall()
    except StoreError:
        return None


def _change_places(own: Path, unfinished: Path) -> Path | None:
    """Give the finished store its name; the one that had it is kept, with its log, under another."""
    if not os.path.lexists(own):
        log_count.settle(own)
        unfinished.rename(own)
        return None
    aside = companions.free(own.with_name(own.name + ASIDE))
    try:
        os.link(own, aside)  # at every moment there is a store
    except OSError:
        own.rename(aside)
    moved = []
    try:
        for ending in (LOG, CHANGE):
            along = companions.beside(own, ending)
            if along.exists():
                along.rename(aside.with_name(aside.name + ending))
                moved.append((along, aside.with_name(aside.name + ending)))
        unfinished.replace(own)
    except OSError:
        for along, now in moved:
            now.rename(along)
        if os.path.lexists(own):
            aside.unlink()
        else:
            aside.rename(own)
        raise
    return aside
