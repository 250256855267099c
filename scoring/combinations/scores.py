"""Tractors with their scores for a job, in their order: the smallest that is sure enough on every task comes first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.outcomes import Outcome, outcome
from evener.scoring.gives.block import blocks
from evener.scoring.gives.offer import Offer

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.records import Tractor
    from evener.scoring.combinations.reach import Reach
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Draws
    from evener.scoring.gives.tractors import Tractors

AT_A_TIME = 256


@dataclass(frozen=True)
class Score:
    """One tractor against all tasks.

    Attributes
    ----------
    offer : what it offers
    adequacy : share of draws in which it does every task that comes
    shares : by task, in their order, the share of draws in which it does it or it does not come
    nearness : how near it comes to what is enough, on the task on which it is furthest off; 1 where it is enough
    meets : whether it is sure enough on every task
    reach : what the classes reach
    """

    offer: Offer
    adequacy: float
    shares: tuple[float, ...]
    nearness: float
    meets: bool
    reach: Reach

    @property
    def tractor(self) -> Tractor:
        """The record."""
        return self.offer.record

    @property
    def fit(self) -> float:
        """100 x nearness."""
        return 100.0 * self.nearness


def judged(work: Sequence[TaskDemands], offers: Sequence[Offer], found: Outcome, reach: Reach) -> list[Score]:
    """Sum the outcome of tractors up over the draws."""
    adequacy = np.count_nonzero(found.met, axis=1) / found.draws
    shares = found.shares
    sure, near = reach.enough(work, shares), reach.nearness(work, shares)
    return [
        Score(offer, float(whole), tuple(map(float, each)), float(close), bool(meets), reach)
        for offer, whole, each, close, meets in zip(offers, adequacy, shares, near, sure, strict=True)
    ]


def score(work: Sequence[TaskDemands], offer: Offer, reach: Reach) -> Score:
    """Score one tractor against all tasks."""
    return judged(work, [offer], outcome(work, offer.block), reach)[0]


def score_all(
    work: Sequence[TaskDemands], tractors: Tractors, draws: Draws, reach: Reach, first: int | None = None
) -> list[Score]:
    """Score tractors, a block of them at a time, and order them.

    Parameters
    ----------
    work : what is asked
    tractors : those to score
    draws, reach : the shared draws, and what the classes reach
    first : how many that are sure enough are wanted, the smallest of them; of the larger ones as many are scored that
        are cheapest by their price, and an even sample of as many. All when left out
    """
    found: list[Score] = []
    left = np.array(sorted(range(len(tractors)), key=lambda row: by_size(tractors.records[row])), np.intp)
    while left.size:
        enough = first is not None and sum(one.meets for one in found) >= first
        rows = _some_of(tractors, left, first or 1) if enough else left[: AT_A_TIME if first else None]
        found += _scored(work, tractors, rows, draws, reach)
        left = left[:0] if enough else left[rows.size :]
    return rank(found)


def _some_of(tractors: Tractors, rows: NDArray[np.intp], number: int) -> NDArray[np.intp]:
    """Return the cheapest of some tractors, and an even sample of them, in their order."""
    prices = tractors.stated("price")[rows]
    cheapest = rows[np.argsort(prices, kind="stable")[: min(number, np.count_nonzero(~np.isnan(prices)))]]
    evenly = rows[:: max(1, rows.size // number)]
    return rows[np.isin(rows, np.union1d(cheapest, evenly))]


def _scored(
    work: Sequence[TaskDemands], tractors: Tractors, rows: NDArray[np.intp], draws: Draws, reach: Reach
) -> list[Score]:
    found: list[Score] = []
    for block in blocks(tractors, draws, rows):
        offers = [Offer(tractors.at(row), draws) for row in block.rows]
        found += judged(work, offers, outcome(work, block), reach)
    return found


def rank(scores: Sequence[Score]) -> list[Score]:
    """Order tractors: those that are sure enough, the smallest first; then the others, the nearest first.

    Of two of one PTO power the cheaper comes first, then the lighter. Of two that come equally near it is the larger.
    """

    def place(one: Score) -> tuple[bool, float, tuple[float, float, float, str]]:
        if one.meets:
            return (False, 0.0, by_size(one.tractor))
        _, price, mass, name = by_size(one.tractor)
        return (True, -one.nearness, (-(one.tractor.pto_power_kw or 0.0), price, mass, name))

    return sorted(scores, key=place)


def by_size(tractor: Tractor) -> tuple[float, float, float, str]:
    """Return what tractors are ordered by in size: PTO power, then price, then mass, what is not known last."""

    def known(value: float | None) -> float:
        return math.inf if value is None else value

    return (known(tractor.pto_power_kw), known(tractor.price), known(tractor.mass_kg), tractor.tractor_id)
