"""Shape 6: where a unit stands and whether it is sold; owners' other names, limits on lending, what senders mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_ADDED = {
    "tractor": ("currency", "location", "cab", "attachments", "tyres", "stock_status"),
    "implement": ("currency", "location", "stock_status"),
}
_TABLES = (
    """
CREATE TABLE "owner" (
  "owner" VARCHAR NOT NULL,
  "alias" VARCHAR NOT NULL,
  "batch_id" VARCHAR
)
""",
    """
CREATE TABLE "lending" (
  "record" VARCHAR NOT NULL,
  "name" VARCHAR NOT NULL,
  "rule" VARCHAR NOT NULL,
  "first_month" INTEGER,
  "last_month" INTEGER,
  "words" VARCHAR NOT NULL,
  "batch_id" VARCHAR
)
""",
    """
CREATE TABLE "sender" (
  "owner" VARCHAR,
  "record" VARCHAR NOT NULL,
  "what" VARCHAR NOT NULL,
  "heading" VARCHAR NOT NULL,
  "said" VARCHAR NOT NULL,
  "batch_id" VARCHAR
)
""",
)


def migrate(con: Connection) -> None:
    """Add the columns, empty in every record, and the tables, without a row."""
    for table, columns in _ADDED.items():
        for column in columns:
            con.execute(f'ALTER TABLE "{table}" ADD COLUMN "{column}" VARCHAR')
    con.execute('ALTER TABLE implement ADD COLUMN "price" DOUBLE')
    for table in _TABLES:
        con.execute(table)
