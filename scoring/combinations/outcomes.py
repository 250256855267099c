"""How tractors fare in every draw: which tasks they do, and on which axes they fall short."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.asked import asked, asked_at_least, cannot_tell
from evener.scoring.combinations.hard_axes import HARD, stand_up
from evener.scoring.gives.capacity import capacity
from evener.scoring.gives.gates import pass_gate

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array, Draws, Mask
    from evener.scoring.gives.block import Block


@dataclass(frozen=True, eq=False)
class TaskOutcome:
    """How a block of tractors fares at one task.

    Attributes
    ----------
    task : its name
    met : the draws in which a tractor does it, if it comes; shape (tractors, draws)
    comes : the draws in which it comes; shape (draws,)
    """

    task: str
    met: Mask
    comes: Mask

    @property
    def share(self) -> Array:
        """Share of all draws in which each tractor does it or it does not come; shape (tractors,) [1]."""
        return np.asarray(np.count_nonzero(self.met | ~self.comes, axis=1) / self.comes.size)

    @property
    def able(self) -> Array:
        """Share of all draws in which each tractor would do it if it came for sure; shape (tractors,) [1]."""
        return np.asarray(np.count_nonzero(self.met, axis=1) / self.comes.size)


@dataclass(frozen=True, eq=False)
class Outcome:
    """How a block of tractors fares at all tasks.

    Attributes
    ----------
    tasks : task by task
    tractors, draws : how many there are
    """

    tasks: tuple[TaskOutcome, ...]
    tractors: int
    draws: int

    @property
    def met(self) -> Mask:
        """The draws in which a tractor does every task that comes; shape (tractors, draws)."""
        met = np.ones((self.tractors, self.draws), bool)
        for one in self.tasks:
            met &= one.met | ~one.comes
        return met

    @property
    def shares(self) -> Array:
        """Share of draws in which each tractor does each task or it does not come; shape (tractors, tasks) [1]."""
        return np.array([one.share for one in self.tasks]).reshape(len(self.tasks), self.tractors).T


def ratio(demand: Demand, block: Block) -> Array:
    """Return demand at the usual speed over capacity; NaN where either is not known [1]; (tractors, draws or 1)."""
    return _known(demand, block, asked(demand, block) / capacity(block, demand).values)


def least_ratio(demand: Demand, block: Block) -> Array:
    """Return what has to be met over capacity: at most 1 where a tractor does it; NaN as in `ratio` [1]."""
    return _known(demand, block, asked_at_least(demand, block) / capacity(block, demand).values)


def _known(demand: Demand, block: Block, found: Array) -> Array:
    unsure = cannot_tell(demand, block)
    return np.where(unsure[:, None], np.nan, found) if unsure.any() else found


def present(task: TaskDemands, draws: Draws) -> Mask:
    """Return in which draws a task comes; a plan comes with its chance."""
    if task.chance >= 1.0:
        return np.ones(draws.n, bool)
    return draws.comes(task.task, task.chance)


def outcome(work: Sequence[TaskDemands], block: Block) -> Outcome:
    """Set a block of tractors against tasks, draw by draw."""
    return Outcome(tuple(task_outcome(task, block) for task in work), len(block), block.draws.n)


def task_outcome(task: TaskDemands, block: Block) -> TaskOutcome:
    """Set a block of tractors against one task, draw by draw."""
    met = np.ones((len(block), block.draws.n), bool)
    for gate in task.gates:
        met[~pass_gate(block, gate)] = False
    for demand in task.demands:
        holds = enough(demand, block)
        met &= stand_up(demand, block, holds) if demand.axis in HARD else holds
    return TaskOutcome(task.task, met, present(task, block.draws))


def enough(demand: Demand, block: Block) -> Mask:
    """Return where tractors have what has to be met; never where either is not known; (tractors, draws or 1)."""
    has = asked_at_least(demand, block) <= capacity(block, demand).values
    unsure = cannot_tell(demand, block)
    return has & ~unsure[:, None] if unsure.any() else has


def short(task: TaskDemands, block: Block) -> dict[str, Mask]:
    """Return by axis the draws in which tractors fall short there, and by gate all draws of those it shuts out."""
    shape = (len(block), block.draws.n)
    found: dict[str, Mask] = {}
    for demand in task.demands:
        holds = enough(demand, block)
        missing = np.broadcast_to(~(stand_up(demand, block, holds) if demand.axis in HARD else holds), shape)
        found[demand.axis] = found[demand.axis] | missing if demand.axis in found else missing
    for gate in task.gates:
        found[gate.axis] = np.broadcast_to(~pass_gate(block, gate)[:, None], shape)
    return found
