"""Shape 10: what machines of a family hold, and what is usual by the animals of a place."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection


def migrate(con: Connection) -> None:
    """Add both columns, empty until the library is renewed."""
    con.execute('ALTER TABLE family ADD COLUMN "holds" VARCHAR[]')
    con.execute('ALTER TABLE prior ADD COLUMN "animals" VARCHAR')
