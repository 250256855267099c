"""Shape 6: one model of rating, mass and reach per family; priors say how they lie, variants the build of a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_MODEL = """
CREATE TABLE "rating_model" (
  "family" VARCHAR NOT NULL,
  "quantity" VARCHAR NOT NULL,
  "rests_on" VARCHAR NOT NULL,
  "variables" VARCHAR NOT NULL,
  "form" VARCHAR NOT NULL,
  "centres" VARCHAR NOT NULL,
  "coefficients" VARCHAR NOT NULL,
  "covariance" VARCHAR NOT NULL,
  "builds" VARCHAR NOT NULL,
  "duties" VARCHAR NOT NULL,
  "build_shares" VARCHAR NOT NULL,
  "duty_shares" VARCHAR NOT NULL,
  "groups" VARCHAR NOT NULL,
  "group_errors" VARCHAR NOT NULL,
  "group_spreads" VARCHAR NOT NULL,
  "between_builds" DOUBLE NOT NULL CHECK (isfinite("between_builds")),
  "between_duties" DOUBLE NOT NULL CHECK (isfinite("between_duties")),
  "between_groups" DOUBLE NOT NULL CHECK (isfinite("between_groups")),
  "spread" DOUBLE NOT NULL CHECK (isfinite("spread")),
  "spread_slope" DOUBLE NOT NULL CHECK (isfinite("spread_slope")),
  "freedom" DOUBLE NOT NULL CHECK (isfinite("freedom")),
  "second" VARCHAR NOT NULL,
  "n" INTEGER NOT NULL,
  "library" INTEGER NOT NULL,
  "aside" VARCHAR NOT NULL,
  "lows" VARCHAR NOT NULL,
  "highs" VARCHAR NOT NULL,
  "errors" VARCHAR NOT NULL,
  "moved_by_aside" DOUBLE NOT NULL CHECK (isfinite("moved_by_aside")),
  "moved_by_verdicts" DOUBLE NOT NULL CHECK (isfinite("moved_by_verdicts")),
  "correlation" VARCHAR NOT NULL
)
"""


def migrate(con: Connection) -> None:
    """Drop the table of regressions, and add that of models, which the next ingest fills."""
    con.execute('DROP TABLE "rating_fit"')
    con.execute(_MODEL)
    con.execute('ALTER TABLE prior ADD COLUMN "land" VARCHAR')
    con.execute('ALTER TABLE prior ADD COLUMN "usual" DOUBLE')
    # Rows changed by UPDATE would keep the column from being made NOT NULL in the same transaction.
    con.execute("ALTER TABLE prior ADD COLUMN \"shape\" VARCHAR DEFAULT 'uniform'")
    con.execute('ALTER TABLE prior ALTER "shape" DROP DEFAULT')
    con.execute('ALTER TABLE prior ALTER "shape" SET NOT NULL')
    con.execute('ALTER TABLE variant ADD COLUMN "build" VARCHAR')
    con.execute("UPDATE variant SET build = word")
