"""How surely the surest class does each task, and which tractors come near enough to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.outcomes import task_outcome
from evener.scoring.gives.block import blocks
from evener.scoring.gives.tractors import Tractors

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import Tractor
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Array, Draws, Mask

SLACK = 1e-9
KEPT = 64
DOES_IT = 0.10  # a task that no class does in a tenth of the draws is done by none (common practice, no source)


class Reach:
    """What the generic classes reach, task by task: the measure of what can be asked of a tractor at all.

    Parameters
    ----------
    classes : the generic classes
    draws : the shared draws
    confidence : share of the surest class's that is enough
    """

    def __init__(self, classes: Sequence[Tractor], draws: Draws, confidence: float) -> None:
        self.confidence = confidence
        tractors = Tractors.of(classes, classes)
        self._blocks = list(blocks(tractors, draws))
        self._rows = {classes[row].tractor_id: place for place, row in enumerate(self._order())}
        self._kept: dict[int, tuple[TaskDemands, Array, Array]] = {}

    def of_class(self, tractor_id: str, task: TaskDemands) -> float | None:
        """Return the share of draws in which a class does a task or it does not come; None where it is no class [1]."""
        place = self._rows.get(tractor_id)
        return None if place is None else float(self._shares(task)[0][place])

    def done_by_any(self, task: TaskDemands) -> bool:
        """Return whether there is a class that does a task when it comes; without classes nothing is known."""
        able = self._shares(task)[1]
        return bool(able.size == 0 or able.max() >= DOES_IT)

    def level(self, task: TaskDemands) -> float:
        """Return the share of draws that is enough on a task; 0 where no class does it [1]."""
        if not self.done_by_any(task):
            return 0.0
        shares = self._shares(task)[0]
        return self.confidence * float(shares.max(initial=0.0) if shares.size else 1.0)

    def enough(self, tasks: Sequence[TaskDemands], shares: Array) -> Mask:
        """Return which tractors are sure enough on every task that a class does; none where no task is left.

        Parameters
        ----------
        tasks : what is to be done
        shares : share of draws in which each does each task or it does not come; shape (tractors, tasks) [1]
        """
        levels = np.array([self.level(task) for task in tasks])
        if levels.size and not levels.any():
            return np.zeros(len(shares), bool)
        return np.asarray((shares >= levels - SLACK).all(axis=1))

    def nearness(self, tasks: Sequence[TaskDemands], shares: Array) -> Array:
        """Return how near tractors come to what is enough, at most 1, where they are furthest off [1]."""
        levels = np.array([self.level(task) for task in tasks])
        if not levels.any():
            return np.asarray(shares.min(axis=1, initial=1.0))
        parts = np.where(levels > 0, shares / np.where(levels > 0, levels, 1.0), 1.0)
        return np.asarray(np.minimum(parts.min(axis=1, initial=1.0), 1.0))

    def _order(self) -> list[int]:
        return [int(row) for block in self._blocks for row in block.rows]

    def _shares(self, task: TaskDemands) -> tuple[Array, Array]:
        kept = self._kept.get(id(task))
        # Kept with the task, whose identity is the key: one that is gone could lend its identity to another.
        if kept is None or kept[0] is not task:
            found = [task_outcome(task, block) for block in self._blocks]
            share = np.concatenate([one.share for one in found]) if found else np.zeros(0)
            able = np.concatenate([one.able for one in found]) if found else np.zeros(0)
            if len(self._kept) >= KEPT:
                self._kept.pop(next(iter(self._kept)))
            kept = self._kept[id(task)] = task, share, able
        return kept[1], kept[2]
