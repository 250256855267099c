"""The pick with an answer settled, by the rule of the sheet: by what being wrong costs, or by how sure each task is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from evener.scoring.asks.tasks import demands_of
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.contenders import FIRST, Pick
from evener.scoring.decision.turning import Cheapest, Settled
from evener.scoring.decision.what_if import WhatIf
from evener.scoring.mechanics.work import yearly_cost
from evener.scoring.money.terms import NoMoney
from evener.scoring.questions.open_unknowns import PLAN
from evener.scoring.questions.open_work import BUILD, GAP, HAVE, HIRE, NO
from evener.scoring.questions.reconcile import stand_in
from evener.scoring.questions.whole_place import decide_place

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from evener.schema.records import JobSheet, Tractor
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.questions.open_answers import OpenAnswer
    from evener.scoring.questions.open_capacities import OpenCapacity
    from evener.scoring.questions.open_work import OpenWork
    from evener.scoring.questions.reconcile import Gap

YES = "yes"
ENOUGH = 0.05  # without money: a question less likely than this to change the pick is not put


class Chooser(Protocol):
    """The picks of one job."""

    @property
    def now(self) -> Tractor | None:
        """The present pick."""

    def answer(self, one: OpenAnswer) -> Settled:
        """Return what an answer of the sheet leads to."""

    def work(self, one: OpenWork) -> Settled:
        """Return what an answer about the work itself leads to."""

    def capacity(self, one: OpenCapacity) -> Settled:
        """Return what a tractor's missing figure leads to."""

    def gap(self, gap: Gap) -> str | None:
        """Return the pick if there is work that nobody named."""

    def worth_asking(self, settled: Settled) -> bool:
        """Tell whether an answer that leads to this is worth the trouble."""


class BySureness:
    """Picks by how sure each task is; each answer is sized anew."""

    def __init__(self, sizing: Sizing, scores: list[Score]) -> None:
        self._what_if = WhatIf(sizing, scores)

    @property
    def now(self) -> Tractor | None:
        """The present pick."""
        return self._what_if.now

    def answer(self, one: OpenAnswer) -> Settled:
        """Return what an answer of the sheet leads to."""
        return _settled([part.share for part in one.parts], [self.pick(part.job) for part in one.parts])

    def work(self, one: OpenWork) -> Settled:
        """Return what an answer about the work itself leads to; a no to work that nobody named changes nothing."""
        picks = [
            Pick(self.now, changed=False) if part.text == NO and one.quantity in {GAP, HIRE} else self.pick(part.job)
            for part in one.parts
        ]
        return _settled([part.share for part in one.parts], picks)

    def pick(self, job: JobSheet) -> Pick:
        """Return the pick for another sheet of the same place."""
        return self._what_if.pick(job)

    def capacity(self, one: OpenCapacity) -> Settled:
        """Return what a tractor's missing figure leads to."""
        picks = [self._what_if.contenders.pick_if_offered(part.offer) for part in one.parts]
        return _settled([part.share for part in one.parts], picks)

    def worth_asking(self, settled: Settled) -> bool:
        """Tell whether an answer is likely enough to change the pick."""
        return settled.chance > ENOUGH

    def gap(self, gap: Gap) -> str | None:
        """Return the pick if there is work that nobody named."""
        task, sizing = stand_in(gap.rule), self._what_if.sizing
        if task is None:
            return None
        setting = Setting(sizing.setting.job, sizing.setting.library, sizing.setting.draws)
        try:
            return self._what_if.contenders.pick([demands_of(setting, task)]).tractor_id
        except CannotSize:
            return None


class ByCost:
    """Picks by least expected cost; an answer is the draws in which it is so."""

    def __init__(self, cheapest: Cheapest) -> None:
        self.cheapest = cheapest

    @property
    def now(self) -> Tractor | None:
        """The present pick."""
        return self.cheapest.now

    def among(self, ids: Collection[str]) -> ByCost | None:
        """Return the picks among some of the tractors; None where none of them may be picked."""
        kept = [one for one in self.cheapest.found if one.valued.tractor.tractor_id in ids]
        return ByCost(Cheapest(self.cheapest.decision, kept)) if kept else None

    def fit(self, one: YearlyCost) -> float:
        """Return how near a tractor comes to the one that costs least [%]."""
        return float(yearly_cost.fit(self.cheapest.found[0].expected, C=one.expected))

    def answer(self, one: OpenAnswer) -> Settled:
        """Return what an answer of the sheet leads to; a plan come true is work like any that is listed."""
        if one.quantity == PLAN and one.task is not None:
            name, parts = one.task, one.parts
            return self.cheapest.settle_variants([(part.share, {name: part.text == YES}) for part in parts])
        return self.cheapest.settle([(part.share, part.where) for part in one.parts])

    def work(self, one: OpenWork) -> Settled:
        """Return what an answer about the work itself leads to; one that no tractor's cost hangs on changes nothing."""
        decision = self.cheapest.decision
        if not self._matters(one):
            return self.cheapest.settle([(part.share, None) for part in one.parts])
        return self.cheapest.settle_decisions(
            [(part.share, part.decided(decision) if part.decided else None) for part in one.parts]
        )

    def _matters(self, one: OpenWork) -> bool:
        """Tell whether anything can hang on an answer: on hire only where some tractor misses the task."""
        decision = self.cheapest.decision
        if one.task not in {task.name for task in decision.work.tasks}:
            return False
        if one.quantity in {HAVE, BUILD}:
            return not np.isfinite(decision.reckoned.there[one.task]).any()
        if one.quantity != HIRE:
            return True
        tractors = [each.valued.tractor for each in self.cheapest.found]
        return not all(way[one.task].does.all() for way in decision.ways(tractors))

    def capacity(self, one: OpenCapacity) -> Settled:
        """Return what a tractor's missing figure leads to."""
        return self.cheapest.settle_offers(one.tractor, [(part.share, part.offer) for part in one.parts])

    def worth_asking(self, settled: Settled) -> bool:
        """Tell whether an answer can change the pick and is worth the trouble."""
        return settled.chance > 0 and (settled.worth or 0.0) >= self.cheapest.decision.terms["worth_asking"]

    def gap(self, gap: Gap) -> str | None:
        """Return the pick if there is work that nobody named."""
        task = stand_in(gap.rule)
        found = next((one for one in self.cheapest.decision.work.tasks if task and one.name == task.name), None)
        return None if found is None else self.cheapest.pick(found.comes).tractor_id


def by_cost(sizing: Sizing, candidates: Sequence[Tractor], tractors: Sequence[Tractor]) -> ByCost | None:
    """Return the picks by cost; None where no task could be sized or nothing can be reckoned among the candidates.

    Parameters
    ----------
    sizing : the job
    candidates : the tractors to pick among
    tractors : all tractor records

    Raises
    ------
    NoMoney
        No money can be reckoned in the sheet's currency.
    """
    if not candidates or not any(one.kind == "class" and one.pto_power_kw for one in tractors):
        return None
    decision = decide_place(sizing, tractors)
    if not decision.work.tasks:
        return None
    found = Cheapest(decision, decision.cost(candidates))
    return ByCost(found) if found.found else None


def worth_reckoning(scores: Sequence[Score]) -> list[Score]:
    """Return those that are sure enough and the nearest of the others: a list of thousands is not all reckoned."""
    sure = [one for one in scores if one.meets]
    return [*sure, *[one for one in scores if not one.meets][:FIRST]]


def chooser(sizing: Sizing, scores: list[Score], tractors: Sequence[Tractor]) -> Chooser:
    """Return the picks of a job by its rule; by sureness too where there is no money to reckon with.

    Parameters
    ----------
    sizing : the job
    scores : the tractors to pick among, in their order of sureness
    tractors : all tractor records
    """
    if sizing.setting.job.policy.rule == "cost":
        try:
            picks = by_cost(sizing, [one.tractor for one in worth_reckoning(scores)], tractors)
        except NoMoney:
            picks = None
        if picks is not None:
            return picks
    return BySureness(sizing, scores)


def _settled(shares: Sequence[float], picks: Sequence[Pick]) -> Settled:
    return Settled(tuple(picks), sum(share for share, pick in zip(shares, picks, strict=True) if pick.changed), None)
