"""The best two tractors together: the pick and a second one, or two others, the second new or used."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Trace
from evener.scoring.decision.ladder import rung
from evener.scoring.money.pair import PairCost, least_ownership, pair_cost
from evener.scoring.money.prices import priced
from evener.scoring.money.yearly_work import running

if TYPE_CHECKING:
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.money.prices import Valued
    from evener.scoring.money.yearly_work import Done

OF_A_SIZE = 2
MOSTLY = 0.5


@dataclass(frozen=True)
class _Candidate:
    valued: Valued
    done: Mapping[str, Done]
    least: float
    bought_used: bool


def best_pair(decision: Decision, found: Sequence[YearlyCost]) -> PairCost | None:
    """Return the two tractors that cost least together; None where no two share the work.

    Of each size the two that cost least by themselves, and the one that costs least to own, stand for all. Of classes
    one of the two may be bought used, if it works the fewer hours. Each of the two takes some task in most draws: one
    that stands idle is no second tractor.

    Parameters
    ----------
    decision : the job with its money
    found : what tractors that may be picked cost by themselves, the least first
    """
    candidates = _candidates(decision, found)
    floor = _least_running(decision, candidates)
    best: PairCost | None = None
    for least, (one, other) in sorted(_pairs(candidates), key=lambda each: each[0]):
        if best is not None and least + floor >= best.expected:
            break
        cost = pair_cost((one.valued, one.done), (other.valued, other.done), decision.reckoned)
        if (best is None or cost.expected < best.expected) and _shares(cost, used=(one.bought_used, other.bought_used)):
            best = cost
    return best


def _pairs(candidates: Sequence[_Candidate]) -> Iterator[tuple[float, tuple[_Candidate, _Candidate]]]:
    """Yield every two tractors, the larger first, with the least that they cost to own; one of them is new."""
    for at, one in enumerate(candidates):
        for other in candidates[:at]:
            same = one.valued.tractor.tractor_id == other.valued.tractor.tractor_id
            if not same and not (one.bought_used and other.bought_used):
                smaller, larger = sorted((one, other), key=lambda each: each.valued.tractor.pto_power_kw or 0.0)
                yield one.least + other.least, (larger, smaller)


def _shares(cost: PairCost, *, used: tuple[bool, bool]) -> bool:
    """Tell whether each of two tractors takes some task in most draws, and one bought used works the fewer hours."""
    both = max(one.first for one in cost.tasks) > MOSTLY and max(one.second for one in cost.tasks) > MOSTLY
    first, second = cost.hours
    return both and (not used[0] or first <= second) and (not used[1] or second <= first)


def _least_running(decision: Decision, candidates: Sequence[_Candidate]) -> float:
    """Return what no two candidates can go below for the work that is listed [money/yr]."""
    silent, floor = Trace(on=False), 0.0
    for task in decision.work.tasks:
        if task.listed:
            least = np.minimum(decision.reckoned.there[task.name], task.hire)
            for one in candidates:
                way, kw = one.done[task.name], one.valued.tractor.pto_power_kw or 0.0
                least = np.minimum(least, np.where(way.does, running(way, kw, decision.terms, silent), np.inf))
            floor += float((least + task.machine).mean())
    return floor


def _candidates(decision: Decision, found: Sequence[YearlyCost]) -> list[_Candidate]:
    by_size: dict[int, list[YearlyCost]] = {}
    for one in found:
        by_size.setdefault(rung(one.valued.tractor.pto_power_kw or 0.0), []).append(one)
    kept: dict[str, YearlyCost] = {}
    for some in by_size.values():
        least_owned = min(some, key=lambda one: one.ownership)
        kept.update({one.valued.tractor.tractor_id: one for one in (*some[:OF_A_SIZE], least_owned)})
    ways = decision.ways([one.valued.tractor for one in kept.values()])
    return [
        _Candidate(valued, done, least_ownership(valued, decision.reckoned), valued is not one.valued)
        for one, done in zip(kept.values(), ways, strict=True)
        for valued in (one.valued, *_used(decision, one.valued))
    ]


def _used(decision: Decision, new: Valued) -> Sequence[Valued]:
    """Return a class as it is bought used: so old, with the usual hours; it does what a new one does."""
    tractor, terms, setting = new.tractor, decision.terms, decision.sizing.setting
    if tractor.kind != "class":
        return ()
    age = terms["second_age"]
    year, hours = int(terms["year_zero"] - age), age * terms["hours_a_year"]
    old = replace(tractor, model_year=year, meter_hours_h=hours)
    return (priced(old, setting.library, setting.job.money, terms),)
