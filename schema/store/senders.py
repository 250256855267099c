"""What is remembered of a sender: how the columns and words of an owner's lists were settled."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


class Remembered(NamedTuple):
    """One thing that was settled for the lists of an owner; what was settled is JSON as kept."""

    owner: str | None
    record: str
    what: str
    heading: str
    said: str
    batch_id: str | None


def of(con: Connection, owner: str | None, record: str) -> list[Remembered]:
    """Return what is remembered of an owner's lists of a kind of record.

    Parameters
    ----------
    con : an open store
    owner : the owner; None for lists without one
    record : kind of record
    """
    found = con.execute(
        'SELECT owner, record, what, heading, said, batch_id FROM "sender"'
        " WHERE owner IS NOT DISTINCT FROM ? AND record = ? ORDER BY what, heading",
        [owner, record],
    ).fetchall()
    return [Remembered(*row) for row in found]


def every(con: Connection) -> list[Remembered]:
    """Return everything that is remembered, by owner."""
    found = con.execute(
        'SELECT owner, record, what, heading, said, batch_id FROM "sender"'
        " ORDER BY owner NULLS FIRST, record, what, heading"
    ).fetchall()
    return [Remembered(*row) for row in found]


def remember(con: Connection, settled: Iterable[Remembered]) -> None:
    """Keep what was settled, in the place of what was settled before of the same heading.

    Parameters
    ----------
    con : a store open for writing
    settled : what was settled
    """
    for one in settled:
        con.execute(
            'DELETE FROM "sender" WHERE owner IS NOT DISTINCT FROM ? AND record = ? AND what = ? AND heading = ?',
            list(one[:4]),
        )
        con.execute('INSERT INTO "sender" VALUES (?, ?, ?, ?, ?, ?)', list(one))


def forget(con: Connection, owner: str | None) -> int:
    """Forget what is remembered of an owner's lists, and return how many things there were.

    Parameters
    ----------
    con : a store open for writing
    owner : the owner; None for lists without one
    """
    ((count,),) = con.execute('DELETE FROM "sender" WHERE owner IS NOT DISTINCT FROM ?', [owner]).fetchall()
    return int(count)
