"""Shape 9: corrections by hand that outlive the next list, and further names of owners."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_CORRECTION = """
CREATE TABLE "correction" (
  "owner" VARCHAR,
  "record" VARCHAR NOT NULL,
  "number" VARCHAR,
  "row_text" VARCHAR,
  "field" VARCHAR NOT NULL,
  "was" VARCHAR NOT NULL,
  "said" VARCHAR,
  "why" VARCHAR NOT NULL,
  "batch_id" VARCHAR NOT NULL
)
"""
_ALIAS = 'CREATE TABLE "owner_alias" ("alias" VARCHAR NOT NULL, "owner" VARCHAR NOT NULL, "batch_id" VARCHAR)'


def migrate(con: Connection) -> None:
    """Add both tables, without a row."""
    con.execute(_CORRECTION)
    con.execute(_ALIAS)
