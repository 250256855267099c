"""Tractors as columns: what their records state, and the class that stands in for what they do not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.records import Tractor
    from evener.scoring.core.draws import Array

GATE_FIELDS = ("hitch_category", "pto_speeds_rpm", "rear_remotes")
USUAL_DRIVE = "2wd"


@dataclass(frozen=True, eq=False)
class Tractors:
    """Some tractor records side by side.

    Attributes
    ----------
    records : the records, in their order
    models : for each, the class that stands in for what its record does not state; None for a class itself
    """

    records: tuple[Tractor, ...]
    models: tuple[Tractor | None, ...]
    _columns: dict[str, Array] = field(default_factory=dict, init=False, repr=False)

    @classmethod
    def of(cls, records: Sequence[Tractor], classes: Sequence[Tractor]) -> Tractors:
        """Return records as columns; classes stand in for what a record does not state."""
        return cls(tuple(records), tuple(_models(records, classes)))

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.records)

    def stated(self, name: str) -> Array:
        """Return a field of the records, NaN where it is not stated; shape (tractors,), in the field's unit."""
        return self._column(f"stated/{name}", self.records, name)

    def of_model(self, name: str) -> Array:
        """Return a field of the classes that stand in, NaN where there is none; shape (tractors,)."""
        return self._column(f"model/{name}", self.models, name)

    def drives(self) -> NDArray[np.str_]:
        """Return each one's drive: its own, else its class's, else two wheels."""
        pairs = zip(self.records, self.models, strict=True)
        return np.array([own.drive or (model.drive if model else None) or USUAL_DRIVE for own, model in pairs], str)

    def at(self, row: int) -> Tractors:
        """Return one of them alone."""
        return Tractors(self.records[row : row + 1], self.models[row : row + 1])

    def _column(self, key: str, records: Sequence[Tractor | None], name: str) -> Array:
        found = self._columns.get(key)
        if found is None:
            read = [None if one is None else getattr(one, name) for one in records]
            found = self._columns[key] = np.array([math.nan if one is None else one for one in read], float)
        return found


def with_words_of(tractor: Tractor, model: Tractor | None) -> tuple[Tractor, tuple[str, ...]]:
    """Return a tractor with the class's words where its record is silent on a gate, and the fields they are in."""
    if model is None:
        return tractor, ()
    silent = {name: getattr(model, name) for name in GATE_FIELDS if getattr(tractor, name) in (None, ())}
    silent = {name: value for name, value in silent.items() if value not in (None, ())}
    return (replace(tractor, **silent), tuple(silent)) if silent else (tractor, ())


def nearest_class(tractor: Tractor, classes: Sequence[Tractor]) -> Tractor | None:
    """Return the class a tractor falls in: nearest in PTO power, with its own drive where there is one."""
    return _nearest([tractor], classes)[0]


def _models(records: Sequence[Tractor], classes: Sequence[Tractor]) -> list[Tractor | None]:
    found = _nearest(records, classes)
    return [None if one.kind == "class" else model for one, model in zip(records, found, strict=True)]


def _nearest(records: Sequence[Tractor], classes: Sequence[Tractor]) -> list[Tractor | None]:
    found: list[Tractor | None] = [None] * len(records)
    by_drive: dict[str | None, list[int]] = {}
    for row, one in enumerate(records):
        if one.pto_power_kw is not None:
            by_drive.setdefault(one.drive, []).append(row)
    for drive, rows in by_drive.items():
        same = [one for one in classes if one.drive == drive] or list(classes)
        sized = sorted((one for one in same if one.pto_power_kw), key=lambda one: one.tractor_id)
        if not sized:
            continue
        powers = np.log([records[row].pto_power_kw or math.nan for row in rows])
        apart = np.abs(powers[:, None] - np.log([one.pto_power_kw or math.nan for one in sized])[None, :])
        for row, nearest in zip(rows, apart.argmin(axis=1), strict=True):
            found[row] = sized[nearest]
    return found
