"""What a pick by cost hangs on: the choice within parts of the shared draws, and what knowing the part is worth.

Settling one answer is looking only at the draws in which it is so: all else stays as uncertain as before, and nothing
has to be sized again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.decision.contenders import Pick
from evener.scoring.decision.ladder import same_size

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.core.draws import Mask
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.gives.offer import Offer
    from evener.scoring.money.costs import YearlyCost

FEWEST = 40
TELLING = 2.5  # standard errors
NEAR = 8  # of those that cost more, an even sample as large is looked at


@dataclass(frozen=True)
class Settled:
    """What settling one answer leads to.

    Attributes
    ----------
    picks : the pick in each part
    chance : that it is another than the present one [1]
    worth : expected money saved by knowing; None where no money is reckoned [money/yr]
    """

    picks: tuple[Pick, ...]
    chance: float
    worth: float | None


class Cheapest:
    """The tractors a pick by cost is made among, draw by draw.

    Parameters
    ----------
    decision : the job with its money
    found : what the tractors cost; those that may not be picked are kept in `every` alone
    """

    def __init__(self, decision: Decision, found: Sequence[YearlyCost]) -> None:
        self.decision = decision
        self.every = tuple(found)
        self.found = [one for one in found if decision.eligible(one.valued.tractor)]
        self._costs = np.stack([one.total for one in self.found]) if self.found else np.zeros((0, 1))
        self._first = int(self._costs.mean(axis=1).argmin()) if self.found else -1

    @property
    def now(self) -> Tractor | None:
        """The present pick."""
        return self.found[self._first].valued.tractor if self.found else None

    def pick(self, where: Mask | None) -> Pick:
        """Return the pick in some of the draws; the present one where they are too few to tell, or all there are."""
        return self._within(where)[0]

    def settle(self, parts: Sequence[tuple[float, Mask | None]]) -> Settled:
        """Return what an answer with these parts leads to.

        Parameters
        ----------
        parts : the share of each part, and the draws in which the answer is so; None where no draw rests on it
        """
        within = [self._within(where) for _, where in parts]
        shares = [share for share, _ in parts]
        return Settled(
            picks=tuple(pick for pick, _ in within),
            chance=sum(share for share, (pick, _) in zip(shares, within, strict=True) if pick.changed),
            worth=sum(share * gain for share, (_, gain) in zip(shares, within, strict=True)),
        )

    def settle_variants(self, parts: Sequence[tuple[float, Mapping[str, bool]]]) -> Settled:
        """Return what plans come true or dropped lead to.

        Parameters
        ----------
        parts : the share of each part, and the plans that come, or do not
        """
        return self.settle_decisions([(share, self.decision.if_so(comes)) for share, comes in parts])

    def settle_decisions(self, parts: Sequence[tuple[float, Decision | None]]) -> Settled:
        """Return what other decisions on the same place lead to, among the tractors that cost least as it stands.

        Parameters
        ----------
        parts : the share of each, and the decision; None where the present one holds
        """
        ordered = [one.valued.tractor for one in sorted(self.found, key=lambda one: one.expected)]
        rest = ordered[NEAR:]
        tractors = [*ordered[:NEAR], *rest[:: max(1, len(rest) // NEAR)]]
        picks, worth, now = [], 0.0, self.now
        for share, decision in parts:
            if decision is None or now is None:
                picks.append((share, Pick(now, changed=False)))
                continue
            means = decision.means(tractors)
            first = min(tractors, key=lambda one: (means[one.tractor_id], one.pto_power_kw or 0.0, one.tractor_id))
            same = first.tractor_id == now.tractor_id or same_size(first, now)
            picks.append((share, Pick(now if same else first, changed=not same)))
            worth += share * (means[now.tractor_id] - means[first.tractor_id])
        return Settled(
            picks=tuple(pick for _, pick in picks),
            chance=sum(share for share, pick in picks if pick.changed),
            worth=worth,
        )

    def settle_offers(self, tractor: Tractor, parts: Sequence[tuple[float, Offer]]) -> Settled:
        """Return what a figure of one tractor leads to, when it is looked up.

        Parameters
        ----------
        tractor : the record
        parts : the share of each part, and what the tractor offers then
        """
        own = [at for at, one in enumerate(self.found) if one.valued.tractor.tractor_id == tractor.tractor_id]
        means = np.delete(self._costs.mean(axis=1), own)
        others = [one.valued.tractor for at, one in enumerate(self.found) if at not in own]
        if not others:
            return Settled(tuple(Pick(self.now, changed=False) for _ in parts), 0.0, 0.0)
        found = []
        for share, offer in parts:
            with_it = self.decision.cost_of(offer)
            at = int(means.argmin())
            first = with_it.valued.tractor if with_it.expected <= means[at] else others[at]
            changed = self.now is None or (first.tractor_id != self.now.tractor_id and not same_size(first, self.now))
            gain = max(0.0, (with_it.expected if self.now is tractor else means[at]) - min(with_it.expected, means[at]))
            found.append((share, Pick(first if changed else self.now, changed=changed), float(gain)))
        return Settled(
            picks=tuple(pick for _, pick, _ in found),
            chance=sum(share for share, pick, _ in found if pick.changed),
            worth=sum(share * gain for share, _, gain in found),
        )

    def _within(self, where: Mask | None) -> tuple[Pick, float]:
        """Return the pick in some of the draws, and what it saves there against the present one [money/yr]."""
        if where is None or not self.found or np.count_nonzero(where) < FEWEST:
            return Pick(self.now, changed=False), 0.0
        means = self._costs[:, where].mean(axis=1)
        best = int(means.argmin())
        gain = float(means[self._first] - means[best])
        if best != self._first and not self._tells(best, where, gain):
            return Pick(self.now, changed=False), 0.0
        first, now = self.found[best].valued.tractor, self.found[self._first].valued.tractor
        if best == self._first or same_size(first, now):
            return Pick(now, changed=False), gain
        return Pick(first, changed=True), gain

    def _tells(self, best: int, where: Mask, gain: float) -> bool:
        """Tell whether a part favours another tractor by more than any part of as many draws might by chance."""
        apart = self._costs[self._first] - self._costs[best]
        error = float(apart[where].std()) / math.sqrt(np.count_nonzero(where))
        return gain - float(apart.mean()) > TELLING * error
