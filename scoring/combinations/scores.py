"""Tractors with their scores for a job, in their order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.outcomes import Outcome, outcome
from evener.scoring.gives.block import blocks
from evener.scoring.gives.offer import Offer

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Draws
    from evener.scoring.gives.tractors import Tractors


@dataclass(frozen=True)
class Score:
    """One tractor against all tasks.

    Attributes
    ----------
    offer : what it offers
    adequacy : share of draws in which it meets every demand
    thrift : demand / capacity where it is tightest, in the median draw, at most 1
    meets : whether adequacy reaches the asked confidence
    """

    offer: Offer
    adequacy: float
    thrift: float
    meets: bool

    @property
    def tractor(self) -> Tractor:
        """The record."""
        return self.offer.record

    @property
    def fit(self) -> float:
        """100 x adequacy x thrift."""
        return 100.0 * self.adequacy * self.thrift


def judged(offers: Sequence[Offer], found: Outcome, confidence: float) -> list[Score]:
    """Sum the outcome of tractors up over the draws."""
    adequacy = np.count_nonzero(found.met, axis=1) / found.draws
    rank_of_half = max(int(np.ceil(0.5 * found.draws - 1e-9)) - 1, 0)
    thrift = np.minimum(np.partition(found.tightest, rank_of_half, axis=1)[:, rank_of_half], 1.0)
    return [
        Score(offer, float(share), float(used), bool(share >= confidence))
        for offer, share, used in zip(offers, adequacy, thrift, strict=True)
    ]


def score(work: Sequence[TaskDemands], offer: Offer, confidence: float) -> Score:
    """Score one tractor against all tasks."""
    return judged([offer], outcome(work, offer.block), confidence)[0]


def score_all(work: Sequence[TaskDemands], tractors: Tractors, draws: Draws, confidence: float) -> list[Score]:
    """Score tractors, a block of them at a time, and order them."""
    found: list[Score] = []
    for block in blocks(tractors, draws):
        offers = [Offer(tractors.at(row), draws) for row in block.rows]
        found += judged(offers, outcome(work, block), confidence)
    return rank(found)


def rank(scores: Sequence[Score]) -> list[Score]:
    """Order tractors: those that meet the confidence by fit, then the others by adequacy.

    Ties go to the smaller of those that meet, and to the larger of those that do not: it comes nearest.
    """

    def place(one: Score) -> tuple[bool, float, float, float, str]:
        first = one.fit if one.meets else one.adequacy
        second = 0.0 if one.meets else one.fit
        tractor = one.tractor
        power = tractor.pto_power_kw or 0.0
        return (not one.meets, -first, -second, power if one.meets else -power, tractor.tractor_id)

    return sorted(scores, key=place)
