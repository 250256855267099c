"""The tractors a pick is made among, and the pick when a task asks otherwise, is dropped, or is added.

How surely each tractor does each task is kept, so that changing one task costs one task. All else stays in its draws: a
change that asks nothing different never changes the pick.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.outcomes import task_outcome
from evener.scoring.combinations.reach import SLACK
from evener.scoring.combinations.scores import by_size
from evener.scoring.decision.ladder import same_size

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.combinations.scores import Score
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer

FIRST = 100
SAMPLED = 100


@dataclass(frozen=True)
class Pick:
    """The smallest tractor that is sure enough on every task.

    Another tractor of the same size is no change as long as the present pick is sure enough too: which of two such is
    the smaller is a matter of taste, and the present pick stays.

    Attributes
    ----------
    tractor : the record, or None where none is sure enough
    changed : whether it is another than the present pick
    """

    tractor: Tractor | None
    changed: bool

    @property
    def tractor_id(self) -> str | None:
        """Its id, or None."""
        return self.tractor.tractor_id if self.tractor else None


class Contenders:
    """Tractors with how surely they do each task.

    Parameters
    ----------
    sizing : the job as it stands
    scores : tractors in their order. Beyond the first 100 that meet the work and the first 100 that do not, an even
        sample of each is kept, so that a change in either direction still finds a size
    """

    def __init__(self, sizing: Sizing, scores: Sequence[Score]) -> None:
        meeting = [one for one in scores if one.meets]
        others = [one for one in scores if not one.meets]
        kept = sorted((*_thinned(meeting), *_thinned(others)), key=lambda one: by_size(one.tractor))
        self.offers: list[Offer] = [one.offer for one in kept]
        self._tasks = sizing.tasks
        self._shares = np.array([one.shares for one in kept]).reshape(len(kept), len(sizing.tasks))
        self._reach = scores[0].reach if scores else None
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
        left = [*anew.values(), *(task for task in self._tasks if task.task not in {*anew, *without})]
        if self._reach is None or not any(map(self._reach.done_by_any, left)):
            return self._chosen(None, stays=False)
        able = self._able({*anew, *without})

        def sure(row: int) -> bool:
            return self._sure(self.offers[row], anew.values())

        first = next((self.offers[row].record for row in able if sure(row)), None)
        now = next((row for row in able if self._is_now(self.offers[row].record)), None)
        return self._chosen(first, stays=now is not None and same_size(first, self.now) and sure(now))

    def pick_if_offered(self, instead: Offer) -> Pick:
        """Return the pick if one tractor, of these or another, offered this."""
        own = instead.record.tractor_id
        found = [one.record for one in (self.offers[row] for row in self._able(())) if one.record.tractor_id != own]
        if self._sure(instead, self._tasks, changed=True):
            found.append(instead.record)
        return self._chosen(min(found, key=by_size, default=None), stays=any(map(self._is_now, found)))

    def _chosen(self, first: Tractor | None, *, stays: bool) -> Pick:
        if first is None or self.now is None:
            return Pick(first, changed=first is not self.now)
        same = self._is_now(first) or (stays and same_size(first, self.now))
        return Pick(self.now if same else first, changed=not same)

    def _is_now(self, one: Tractor) -> bool:
        return self.now is not None and one.tractor_id == self.now.tractor_id

    def _able(self, replaced: Collection[str]) -> list[int]:
        """Return which tractors are sure enough on all tasks but these, the smallest first."""
        if self._reach is None:
            return []
        kept = [place for place, task in enumerate(self._tasks) if task.task not in replaced]
        enough = self._reach.enough([self._tasks[place] for place in kept], self._shares[:, kept])
        return [int(row) for row in np.flatnonzero(enough)]

    def _sure(self, offer: Offer, tasks: Iterable[TaskDemands], *, changed: bool = False) -> bool:
        """Return whether a tractor is sure enough on tasks; `changed` where it offers other than its record says."""
        reach = self._reach
        if reach is None:
            return False
        for task in tasks:
            known = None if changed else reach.of_class(offer.record.tractor_id, task)
            share = float(task_outcome(task, offer.block).share[0]) if known is None else known
            if share < reach.level(task) - SLACK:
                return False
        return True


def _thinned(scores: Sequence[Score]) -> Sequence[Score]:
    rest = scores[FIRST:]
    step = max(1, len(rest) // SAMPLED)
    return [*scores[:FIRST], *rest[::step]]
