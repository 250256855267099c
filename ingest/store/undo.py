"""Undo one ingest: its records go, what they replaced comes back, and nothing of it stays behind."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from evener.ingest.store.batches import After
from evener.schema.store import aliases, copies, undoing
from evener.schema.store import connection as store

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


class NotUndone(Exception):
    """An ingest that is not in the store, or that others lean on; the text says which and what to do."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class UndoReport:
    """What became of one ingest.

    Attributes
    ----------
    batch_id, record, file : the ingest that was undone
    removed : records that are gone
    restored : older versions that are back
    refused : refused rows of it that are gone
    waiting : refused rows of earlier ingests that wait again
    """

    batch_id: str
    record: str
    file: str
    removed: int
    restored: int
    refused: int
    waiting: int

    def as_dict(self) -> dict[str, Any]:
        """Return the report as the JSON answer gives it."""
        return asdict(self)


def undo(store_path: Path, batch_id: str, *, after: After | None = None) -> UndoReport:
    """Undo one ingest in a store.

    Where a later ingest replaced a record of it in turn, the later record stays, and the history goes from the version
    before straight to it.

    Parameters
    ----------
    store_path : the store
    batch_id : as `evener list batches` shows it
    after : called inside the transaction when implement records changed

    Raises
    ------
    NotUndone
        There is no such ingest, or other records lean on what it loaded; nothing was changed.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    with store.open_read(store_path) as con:
        _batch(con, batch_id)
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        record, file = _batch(con, batch_id)
        aliases.part_memory(con, batch_id)
        removed = undoing.remove_records(con, record, batch_id)
        restored = undoing.restore(con, record, batch_id)
        refused, waiting = undoing.remove_refused(con, batch_id)
        undoing.remove_entry(con, batch_id)
        _check_whole(con, record, batch_id)
        if after is not None and record in ("implement", "family", "verdict"):
            after(con)
    return UndoReport(batch_id, record, file, removed, restored, refused, waiting)


def _batch(con: Connection, batch_id: str) -> tuple[str, str]:
    found = undoing.batch(con, batch_id)
    if found is None:
        raise NotUndone(f"there is no ingest {batch_id!r} in the store. See: evener list batches.")
    return found


def _check_whole(con: Connection, record: str, batch_id: str) -> None:
    """Refuse to leave records that lean on what is gone, or a kind of record without any."""
    if record != "verdict" and undoing.is_empty(con, record):
        raise NotUndone(f"undoing {batch_id} would leave no {record} at all; nothing was changed.")
    lost = undoing.missing(con)
    if lost:
        named = ", ".join(f"{kind} {name}" for kind, name in lost)
        raise NotUndone(
            f"other records lean on what {batch_id} loaded: {named}. Undo theirs first; nothing was changed."
        )
