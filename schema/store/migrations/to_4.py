"""Shape 4: implements may say their maker and model year, and what analysts hold of a record is kept beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_VERDICT = """
CREATE TABLE "verdict" (
  "implement_id" VARCHAR NOT NULL,
  "set_field" VARCHAR,
  "verdict" VARCHAR NOT NULL,
  "set_value" VARCHAR,
  "why" VARCHAR NOT NULL,
  "by_whom" VARCHAR NOT NULL,
  "judged_on" VARCHAR NOT NULL,
  "source_id" VARCHAR NOT NULL,
  "status" VARCHAR NOT NULL,
  "note" VARCHAR,
  "batch_id" VARCHAR,
  "file_row" INTEGER
)
"""


def migrate(con: Connection) -> None:
    """Add the two columns, empty in every record, and the table of verdicts."""
    con.execute('ALTER TABLE implement ADD COLUMN "maker" VARCHAR')
    con.execute('ALTER TABLE implement ADD COLUMN "model_year" INTEGER')
    con.execute(_VERDICT)
