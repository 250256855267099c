"""The tractor records of a store, read when they are asked for, and only those that are."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, overload

from evener.schema.records import Tractor
from evener.schema.store import connection

if TYPE_CHECKING:
    from pathlib import Path


SOLD = "sold"  # such a unit stays in the lists and is in no answer


class StoredTractors(Sequence[Tractor]):
    """The tractor records of a store, by id.

    Parameters
    ----------
    path : the store
    """

    def __init__(self, path: Path) -> None:
        self._path = path

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._all)

    @overload
    def __getitem__(self, place: int) -> Tractor: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Tractor]: ...
    def __getitem__(self, place: int | slice) -> Tractor | Sequence[Tractor]:
        """Return a record, or some, by their place."""
        return self._all[place]

    def __iter__(self) -> Iterator[Tractor]:
        """Go through all of them."""
        return iter(self._all)

    @cached_property
    def _all(self) -> tuple[Tractor, ...]:
        return self.some(None)

    @cached_property
    def ids(self) -> frozenset[str]:
        """Their ids."""
        with connection.open_read(self._path) as con:
            return frozenset(connection.read_names(con, "tractor"))

    def some(self, kinds: Collection[str] | None, ids: Collection[str] = ()) -> tuple[Tractor, ...]:
        """Return those of some kinds and with some ids; all where no kinds are named."""
        with connection.open_read(self._path) as con:
            return tuple(one for one in connection.read_tractors(con, kinds, ids) if one.stock_status != SOLD)


def some(tractors: Sequence[Tractor], kinds: Collection[str], ids: Collection[str] = ()) -> tuple[Tractor, ...]:
    """Return the records of some kinds and with some ids, without reading others from the store."""
    if isinstance(tractors, StoredTractors):
        return tractors.some(kinds, ids)
    return tuple(one for one in tractors if one.kind in kinds or one.tractor_id in ids)


def ids_of(tractors: Sequence[Tractor]) -> frozenset[str]:
    """Return the ids of records."""
    return tractors.ids if isinstance(tractors, StoredTractors) else frozenset(one.tractor_id for one in tractors)
