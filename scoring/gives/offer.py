"""What one tractor offers, to print: its values with where they come from, and the steps behind what is worked out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.certainty import is_unsure
from evener.scoring.core.draws import median
from evener.scoring.gives.block import Block
from evener.scoring.gives.capacity import FIELD, capacity, on_terms
from evener.scoring.gives.known import Known
from evener.scoring.gives.stance import stand
from evener.scoring.gives.tractors import Tractors, with_words_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from evener.schema.records import Tractor
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array, Draws
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Step, Trace
    from evener.scoring.gives.stance import Stance


@dataclass(frozen=True)
class Value:
    """A tractor's value on one field or axis.

    Attributes
    ----------
    value : the number to print, or None where nothing can be assumed
    draws : the number as draws; the same value where it is stated
    assumed_from : label of what it was taken from, or None where the record states it
    notes : what a reader should know of it
    """

    value: float | None
    draws: Array | None
    assumed_from: str | None = None
    notes: tuple[str, ...] = ()


class Offer:
    """What one tractor offers; worked out when it is asked for.

    Parameters
    ----------
    tractors : its record, with the class that stands in for what it does not state
    draws : the shared draws
    """

    def __init__(self, tractors: Tractors, draws: Draws, instead: Mapping[str, Known] | None = None) -> None:
        self._tractors = tractors
        self.draws = draws
        self._instead = dict(instead or {})

    @property
    def record(self) -> Tractor:
        """The record as it is."""
        return self._tractors.records[0]

    @cached_property
    def tractor(self) -> Tractor:
        """The record, with the class's words where it is silent on a gate."""
        return self._worded[0]

    @property
    def model(self) -> Tractor | None:
        """The class that stands in for what the record does not state."""
        return self._tractors.models[0]

    @cached_property
    def block(self) -> Block:
        """The tractor as a block of one."""
        return Block(self._tractors, np.zeros(1, np.intp), self.draws, self._instead)

    @property
    def link(self) -> float:
        """How the hitch's lift bends with reach [1/m]."""
        return float(self.block.link[0, 0])

    @property
    def mass(self) -> Value:
        """Its mass [kg]."""
        return self.take("mass_kg")

    def assumed(self, work: Iterable[TaskDemands]) -> list[str]:
        """Return the fields that were assumed or estimated, by their names; of balance and grip, those used.

        Parameters
        ----------
        work : what it is held against
        """
        for task in work:
            for demand in task.demands:
                self.on(demand)
        named = {FIELD[axis] for axis in FIELD if self.axis(axis).assumed_from}
        named |= {"mass_kg"} if self.mass.assumed_from else set()
        named |= {name for name, known in self.block.taken.items() if known.assumed[0]}
        return sorted({*named, *self._worded[1], *self._unsure})

    def take(self, name: str) -> Value:
        """Return a field of the record by its name, assumed from the class where it is not stated."""
        return self._value(self.block.take(name))

    def axis(self, axis: str) -> Value:
        """Return what stands in the record's column for an axis."""
        return self.take(FIELD[axis])

    def on(self, demand: Demand) -> Value:
        """Return what the tractor offers against a demand: a column, or what it is worth on the demand's terms."""
        if demand.terms is None:
            return self.axis(demand.axis)
        return self._value(capacity(self.block, demand))

    def stands(self, setting: Setting) -> Stance | None:
        """Return how it stands, arrays of shape (draws,); None where mass, front share or wheelbase are not known."""
        found = stand(self.block, setting)
        if np.isnan(found.mass_kg[0, 0] * found.front_kg[0, 0] * found.base_m[0, 0]):
            return None
        drawn = {name: np.broadcast_to(one[0], (self.draws.n,)) for name, one in vars(found).items() if one.ndim > 1}
        return replace(found, **drawn)

    def steps(self, demand: Demand, trace: Trace) -> tuple[Step, ...]:
        """Return how what it offers against a demand came about; nothing for a column of its record."""
        if demand.terms is not None:
            on_terms(Block(self._tractors, np.zeros(1, np.intp), self.draws, self._instead), demand.terms, trace)
        return trace.steps

    def with_values(self, name: str, values: Array, *, assumed: bool = False) -> Offer:
        """Return what it would offer if a field had these draws."""
        known = Known(np.atleast_2d(values), np.array([assumed]))
        return Offer(self._tractors, self.draws, {**self._instead, name: known})

    @property
    def _unsure(self) -> set[str]:
        held = self.tractor.estimated
        return {name for name in held if is_unsure(held, name)}

    @cached_property
    def _worded(self) -> tuple[Tractor, tuple[str, ...]]:
        return with_words_of(self._tractors.records[0], self._tractors.models[0])

    def _value(self, known: Known) -> Value:
        if not known.known[0]:
            return Value(None, None, notes=known.notes)
        middle = median(known.values[0]) if known.middle is None else float(known.middle[0])
        label = (known.stands_in or (self.model.label if self.model else None)) if known.assumed[0] else None
        return Value(middle, np.broadcast_to(known.values[0], (self.draws.n,)), label, known.notes)


def offer(tractor: Tractor, classes: Sequence[Tractor], draws: Draws) -> Offer:
    """Return what a tractor offers on every axis; classes stand in for what its record does not state."""
    return Offer(Tractors.of([tractor], classes), draws)
