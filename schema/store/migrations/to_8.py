"""Shape 8: where a unit stands and whether it is sold; prices of implements, what senders mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_ADDED = {
    "tractor": ("currency", "location", "cab", "attachments", "tyres", "stock_status"),
    "implement": ("currency", "location", "stock_status"),
}
_SENDER = """
CREATE TABLE "sender" (
  "owner" VARCHAR,
  "record" VARCHAR NOT NULL,
  "what" VARCHAR NOT NULL,
  "heading" VARCHAR NOT NULL,
  "said" VARCHAR NOT NULL,
  "batch_id" VARCHAR
)
"""


def migrate(con: Connection) -> None:
    """Add the columns, empty in every record, and the table of senders, without a row."""
    for table, columns in _ADDED.items():
        for column in columns:
            con.execute(f'ALTER TABLE "{table}" ADD COLUMN "{column}" VARCHAR')
    con.execute('ALTER TABLE implement ADD COLUMN "price" DOUBLE')
    con.execute(_SENDER)
