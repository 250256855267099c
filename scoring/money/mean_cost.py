"""The mean yearly cost of tractors alone, where many decisions on one place are compared.

What a task takes of a tractor is kept: most decisions differ in one task.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Trace
from evener.scoring.money.owning import ownership, repair
from evener.scoring.money.prices import priced
from evener.scoring.money.spending import spent
from evener.scoring.money.undone import undone
from evener.scoring.money.yearly_work import running

if TYPE_CHECKING:
    from evener.schema.money import Money
    from evener.schema.records import Tractor
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Library
    from evener.scoring.money.costs import Reckoning
    from evener.scoring.money.prices import Valued
    from evener.scoring.money.terms import Terms
    from evener.scoring.money.yearly_work import Done, YearlyTask


@dataclass(frozen=True)
class _Taken:
    """What one task takes of one tractor, and what that rests on."""

    task: YearlyTask
    way: Done
    other: Array
    terms: Terms
    money: float
    hours: float
    left: float
    missed: Mask

    def rests_on(self, task: YearlyTask, way: Done, other: Array, terms: Terms) -> bool:
        return self.task is task and self.way is way and self.other is other and self.terms is terms


class MeanCosts:
    """Mean yearly costs on one place, under decisions that differ in little."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, str], _Taken] = {}
        self._valued: dict[str, tuple[Terms, Valued]] = {}

    def priced(self, tractor: Tractor, library: Library, money: Money, terms: Terms) -> Valued:
        """Return a tractor with its price, as `prices.priced` does, which is worked out once for each terms."""
        known = self._valued.get(tractor.tractor_id)
        if known is None or known[0] is not terms or known[1].tractor is not tractor:
            known = self._valued[tractor.tractor_id] = (terms, priced(tractor, library, money, terms))
        return known[1]

    def of(self, one: Valued, done: Mapping[str, Done], reckoned: Reckoning) -> float:
        """Return what one tractor costs in a year, the mean over the draws [money/yr].

        Parameters
        ----------
        one : the tractor with its price
        done : how it does each task
        reckoned : what it is reckoned by
        """
        silent, terms, library = Trace(on=False), reckoned.terms, reckoned.library
        taken = {task.name: self._taken(one, task, done[task.name], reckoned) for task in reckoned.tasks}
        owned = ownership(one, sum(each.left for each in taken.values()), library, terms, silent)
        repaired = repair(one, sum(each.hours for each in taken.values()), library, terms, silent)
        spent_on = sum(each.money for each in taken.values())
        missed = {name: each.missed for name, each in taken.items()}
        if not any(mask.any() for mask in missed.values()):
            return owned + repaired + spent_on
        left = undone(
            reckoned.tasks, missed, price=one.price.amount, owned=owned, references=reckoned.references, terms=terms
        )
        return owned + repaired + spent_on + float(left.total.mean())

    def _taken(self, one: Valued, task: YearlyTask, way: Done, reckoned: Reckoning) -> _Taken:
        key, other, terms = (one.tractor.tractor_id, task.name), reckoned.there[task.name], reckoned.terms
        kept = self._kept.get(key)
        if kept is not None and kept.rests_on(task, way, other, terms):
            return kept
        kw = one.tractor.pto_power_kw or 0.0
        found = spent(task, way, running(way, kw, terms, Trace(on=False)), other, kw)
        by_nobody = ~np.isfinite(other)
        taken = _Taken(
            task,
            way,
            other,
            terms,
            money=float(found.total.mean()),
            hours=float(found.hours.mean()),
            left=float((np.where(by_nobody, task.weight, 0.0) * way.hours).mean()),
            missed=task.comes & ~way.does & by_nobody,
        )
        # The first is kept, not the last: decisions are variants of the one they start from.
        return self._kept.setdefault(key, taken) if kept is None else taken
