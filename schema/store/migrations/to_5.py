"""Shape 5: the store says which ingests brought the library, so that a later one can take its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_LAST_FILE = "implement_records.csv"


def migrate(con: Connection) -> None:
    """Add the column. A new store was always filled with the library first, and its implement records came last."""
    con.execute("ALTER TABLE store ADD COLUMN library_batches VARCHAR[]")
    con.execute(
        "UPDATE store SET library_batches = (SELECT list(batch_id ORDER BY batch_id) FROM batch WHERE batch_id <="
        " (SELECT min(batch_id) FROM batch WHERE file_name = ?))"
        " WHERE library_sha256 IS NOT NULL",
        [_LAST_FILE],
    )
