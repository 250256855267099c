"""Shape 5: where a unit stands, what comes with it, and whether it is sold; prices of implements."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

_ADDED = {
    "tractor": ("currency", "location", "cab", "attachments", "tyres", "stock_status"),
    "implement": ("currency", "location", "stock_status"),
}


def migrate(con: Connection) -> None:
    """Add the columns, empty in every record."""
    for table, columns in _ADDED.items():
        for column in columns:
            con.execute(f'ALTER TABLE "{table}" ADD COLUMN "{column}" VARCHAR')
    con.execute('ALTER TABLE implement ADD COLUMN "price" DOUBLE')
