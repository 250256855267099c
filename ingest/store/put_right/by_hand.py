"""The entry of an ingest that comes from no file, so that what was said by hand can be told and taken back."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from evener.schema.store import batches as entries

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

BY_HAND = "by hand"


def enter(con: Connection, record: str, batch_id: str, *, owner: str | None, superseded: int = 0) -> None:
    """Enter an ingest by hand.

    Parameters
    ----------
    con : a store open for writing
    record : kind of record it is about
    batch_id : its id
    owner : whose records it is about
    superseded : records whose earlier version is in the history
    """
    counts = dict.fromkeys(("read", "loaded", "unchanged", "superseded", "quarantined"), 0)
    entries.enter(
        con,
        {
            "batch_id": batch_id,
            "record": record,
            "file_name": BY_HAND,
            "file_sha256": "",
            "loaded_at": datetime.now(UTC).replace(tzinfo=None, microsecond=0),
            "owner": owner,
            "encoding": "utf-8",
            "measures": "us",
            "mapping": "{}",
            **counts,
            "read": superseded,
            "superseded": superseded,
        },
    )
