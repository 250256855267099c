"""The tractors a pick is made among, and the pick when a task asks otherwise, is dropped, or is added.

How each tractor fares is kept task by task, so that changing one task costs one task. All else stays in its draws: a
change that asks nothing different never changes the pick.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from evener.scoring.combinations.outcomes import Outcome, outcome
from evener.scoring.combinations.scores import judged, rank
from evener.scoring.core.draws import share

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.combinations.scores import Score
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Draws
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer

FIRST = 100
SAMPLED = 100
SAME_SIZE = 0.03


@dataclass(frozen=True)
class Pick:
    """The tractor that comes first and meets the work.

    Another tractor of the same size (PTO power within 3 %) is no change as long as the present pick meets the work too:
    the order of two such is a matter of taste, and the present pick stays.

    Attributes
    ----------
    tractor : the record, or None where none meets the work
    changed : whether it is another than the present pick
    """

    tractor: Tractor | None
    changed: bool

    @property
    def tractor_id(self) -> str | None:
        """Its id, or None."""
        return self.tractor.tractor_id if self.tractor else None


class Contenders:
    """Tractors with their outcomes task by task.

    Parameters
    ----------
    sizing : the job as it stands
    scores : tractors in their order. Beyond the first 100 that meet the work and the first 100 that do not, an even
        sample of each is kept, so that a change in either direction still finds a size
    """

    def __init__(self, sizing: Sizing, scores: Sequence[Score]) -> None:
        self._draws: Draws = sizing.setting.draws
        self._confidence = sizing.confidence
        meeting = [one for one in scores if one.meets]
        others = [one for one in scores if not one.meets]
        self.offers: list[Offer] = [one.offer for one in (*_thinned(meeting), *_thinned(others))]
        self._tasks = {task.task: task for task in sizing.tasks}
        self._parts = [one.block for one in self.offers]
        self._outcomes = {name: self._of(task) for name, task in self._tasks.items()}
        self._rests: dict[frozenset[str], list[Outcome]] = {}
        first = scores[0] if scores and scores[0].meets else None
        self.now = first.tractor if first is not None else None

    def pick(self, changed: Iterable[TaskDemands] = (), *, without: Collection[str] = ()) -> Pick:
        """Return the pick if tasks asked otherwise.

        Parameters
        ----------
        changed : tasks as they would be, in the place of those with their names, or added
        without : names of tasks left out
        """
        anew = {task.task: task for task in changed}
        rest = self._rest(frozenset({*anew, *without} & self._tasks.keys()))
        # A tractor that falls short of all the others falls short with these too.
        able = [(offer, one) for offer, one in zip(self.offers, rest, strict=True) if self._enough(one)]
        found = [
            (offer, _both([one, *(outcome([task], offer.block) for task in anew.values())])) for offer, one in able
        ]
        return self._first(found)

    def pick_if_offered(self, instead: Offer) -> Pick:
        """Return the pick if one tractor, of these or another, offered this."""
        own = instead.record.tractor_id
        others = [
            (offer, one)
            for offer, one in zip(self.offers, self._rest(frozenset()), strict=True)
            if offer.record.tractor_id != own
        ]
        return self._first([*others, (instead, outcome(list(self._tasks.values()), instead.block))])

    def _of(self, task: TaskDemands) -> list[Outcome]:
        return [outcome([task], block) for block in self._parts]

    def _enough(self, one: Outcome) -> bool:
        return share(one.met) >= self._confidence

    def _first(self, found: Sequence[tuple[Offer, Outcome]]) -> Pick:
        meeting = [judged([offer], one, self._confidence)[0] for offer, one in found if self._enough(one)]
        if not meeting:
            return Pick(None, changed=self.now is not None)
        first = rank(meeting)[0].tractor
        if self.now is None:
            return Pick(first, changed=True)
        own = self.now.tractor_id
        kept = any(one.tractor.tractor_id == own for one in meeting)
        if first.tractor_id == own or (kept and same_size(first, self.now)):
            return Pick(self.now, changed=False)
        return Pick(first, changed=True)

    def _rest(self, replaced: frozenset[str]) -> list[Outcome]:
        """Return how each tractor fares on all tasks but these."""
        if replaced not in self._rests:
            kept = [one for name, one in self._outcomes.items() if name not in replaced]
            nothing = Outcome((), 1, self._draws.n)
            self._rests[replaced] = [_both([nothing, *(one[i] for one in kept)]) for i in range(len(self.offers))]
        return self._rests[replaced]


def same_size(one: Tractor, other: Tractor) -> bool:
    """Return whether two tractors are of one size: PTO power within 3 %."""
    if one.pto_power_kw is None or other.pto_power_kw is None:
        return False
    return abs(one.pto_power_kw / other.pto_power_kw - 1) <= SAME_SIZE


def _thinned(scores: Sequence[Score]) -> Sequence[Score]:
    rest = scores[FIRST:]
    step = max(1, len(rest) // SAMPLED)
    return [*scores[:FIRST], *rest[::step]]


def _both(outcomes: Sequence[Outcome]) -> Outcome:
    """Return the outcome of doing all that these are outcomes of."""
    return replace(outcomes[0], tasks=tuple(task for one in outcomes for task in one.tasks))
