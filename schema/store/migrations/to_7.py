"""Shape 7: tables of prices, of rates of hire, and of what a decision reckons with."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_TABLES = {
    "prices": "what VARCHAR NOT NULL, pto_kw DOUBLE CHECK (isfinite(pto_kw)),"
    " low DOUBLE NOT NULL CHECK (isfinite(low)), typical DOUBLE NOT NULL CHECK (isfinite(typical)),"
    " high DOUBLE NOT NULL CHECK (isfinite(high)), currency VARCHAR NOT NULL",
    "machine_prices": '"family" VARCHAR NOT NULL, "by" VARCHAR NOT NULL,'
    " size_low DOUBLE NOT NULL CHECK (isfinite(size_low)), price_low DOUBLE NOT NULL CHECK (isfinite(price_low)),"
    " size_high DOUBLE NOT NULL CHECK (isfinite(size_high)), price_high DOUBLE NOT NULL CHECK (isfinite(price_high)),"
    " currency VARCHAR NOT NULL",
    "hire": '"family" VARCHAR NOT NULL, unit VARCHAR NOT NULL, low DOUBLE NOT NULL CHECK (isfinite(low)),'
    " typical DOUBLE NOT NULL CHECK (isfinite(typical)), high DOUBLE NOT NULL CHECK (isfinite(high)),"
    " currency VARCHAR NOT NULL",
    "policy": '"what" VARCHAR NOT NULL, "level" VARCHAR, low DOUBLE NOT NULL CHECK (isfinite(low)),'
    " typical DOUBLE NOT NULL CHECK (isfinite(typical)), high DOUBLE NOT NULL CHECK (isfinite(high)),"
    " unit VARCHAR NOT NULL",
}
_EVERY = "source_id VARCHAR NOT NULL, status VARCHAR NOT NULL, note VARCHAR, batch_id VARCHAR, file_row INTEGER"


def migrate(con: Connection) -> None:
    """Add the tables, empty; the library that is shipped fills them."""
    for name, columns in _TABLES.items():
        con.execute(f'CREATE TABLE "{name}" ({columns}, {_EVERY})')
