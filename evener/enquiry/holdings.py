"""What a store holds for sizing: tractor records, implements, families, fitted ratings and published tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from evener.enquiry.stored import SOLD, StoredTractors, ids_of
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.store import aliases, connection
from evener.scoring.core.setting import Library

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from evener.schema.records import Tractor


@dataclass(frozen=True)
class Holdings:
    """The records and tables that answers rest on.

    Attributes
    ----------
    library : implements, families, fitted ratings, published tables
    tractors : tractor records of every kind, read when they are asked for; classes among them stand in for what others
        do not state
    aliases : the owner that each further name means
    """

    library: Library
    tractors: Sequence[Tractor]
    aliases: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def words(self) -> Vocabulary:
        """The words and ids a job sheet may use with these records."""
        return Vocabulary.of(
            self.library.families.values(),
            implements={one.implement_id: one.family for one in self.library.implements.values()},
            tractors=set(ids_of(self.tractors)),
        )


def read(path: Path) -> Holdings:
    """Return what a store holds.

    Raises
    ------
    evener.schema.store.connection.StoreError
        The path holds no store that can be read.
    """
    with connection.open_read(path) as con:
        every = connection.read_implements(con)
        implements = {one.implement_id: one for one in every if one.stock_status != SOLD}
        families, models = connection.read_families(con), connection.read_rating_models(con)
        library = Library(implements, families, models, connection.read_reference(con))
        return Holdings(library, StoredTractors(path), aliases.aliases(con))
