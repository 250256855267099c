"""What a store holds for sizing: tractor records, implements, families, fitted ratings and published tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.store import connection
from evener.scoring.core.setting import Library

if TYPE_CHECKING:
    from pathlib import Path

    from evener.schema.records import Tractor


SOLD = "sold"  # such a unit stays in the lists and is in no answer


@dataclass(frozen=True)
class Holdings:
    """The records and tables that answers rest on.

    Attributes
    ----------
    library : implements, families, fitted ratings, published tables
    tractors : tractor records of every kind; classes among them stand in for what others do not state
    """

    library: Library
    tractors: tuple[Tractor, ...]

    @cached_property
    def words(self) -> Vocabulary:
        """The words and ids a job sheet may use with these records."""
        return Vocabulary.of(
            self.library.families.values(),
            implements={one.implement_id: one.family for one in self.library.implements.values()},
            tractors={one.tractor_id for one in self.tractors},
        )


def read(path: Path) -> Holdings:
    """Return what a store holds.

    Raises
    ------
    evener.schema.store.connection.StoreError
        The path holds no store that can be read.
    """
    with connection.open_read(path) as con:
        implements = {one.implement_id: one for one in connection.read_implements(con)}
        families, fits = connection.read_families(con), connection.read_rating_fits(con)
        library = Library(implements, families, fits, connection.read_reference(con))
        return Holdings(library, tuple(one for one in connection.read_tractors(con) if one.stock_status != SOLD))
