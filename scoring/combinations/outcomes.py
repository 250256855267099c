"""How tractors fare in every draw: which tasks they do, and on which axes they fall short."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.asked import asked, cannot_tell
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
    short : by axis, the draws in which a tractor falls short there; shape (tractors, draws)
    shut : by gate, which tractors it shuts out; shape (tractors,)
    tightest : demand over capacity where it is largest [1]; shape (tractors, draws)
    """

    task: str
    met: Mask
    comes: Mask
    short: Mapping[str, Mask]
    shut: Mapping[str, Mask]
    tightest: Array

    @property
    def share(self) -> Array:
        """Share of the draws in which it comes that each tractor does it in; 1 where it never comes."""
        times = int(np.count_nonzero(self.comes))
        if not times:
            return np.ones(len(self.met))
        return np.asarray(np.count_nonzero(self.met & self.comes, axis=1) / times)


@dataclass(frozen=True, eq=False)
class Outcome:
    """How a block of tractors fares at all tasks.

    Attributes
    ----------
    tasks : task by task
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
    def tightest(self) -> Array:
        """Demand over capacity where it is largest, among the tasks that come [1]; shape (tractors, draws)."""
        tightest = np.zeros((self.tractors, self.draws))
        for one in self.tasks:
            np.maximum(tightest, np.where(one.comes, one.tightest, 0.0), out=tightest)
        return tightest


def ratio(demand: Demand, block: Block) -> Array:
    """Return demand over capacity; NaN where either is not known [1]; shape (tractors, draws or 1)."""
    found = asked(demand, block) / capacity(block, demand).values
    unsure = cannot_tell(demand, block)
    return np.where(unsure[:, None], np.nan, found) if unsure.any() else found


def present(task: TaskDemands, draws: Draws) -> Mask:
    """Return in which draws a task comes; a plan comes with its chance."""
    if task.chance >= 1.0:
        return np.ones(draws.n, bool)
    return draws.happens(f"task/{task.task}/happens", task.chance)


def outcome(work: Sequence[TaskDemands], block: Block) -> Outcome:
    """Set a block of tractors against tasks, draw by draw."""
    return Outcome(tuple(task_outcome(task, block) for task in work), len(block), block.draws.n)


def task_outcome(task: TaskDemands, block: Block) -> TaskOutcome:
    """Set a block of tractors against one task, draw by draw."""
    shape = (len(block), block.draws.n)
    met, tightest = np.ones(shape, bool), np.zeros(shape)
    short: dict[str, Mask] = {}
    for demand in task.demands:
        found = ratio(demand, block)
        enough = found <= 1.0
        met &= enough
        short[demand.axis] = np.broadcast_to(~enough, shape) | short.get(demand.axis, False)
        np.fmax(tightest, found, out=tightest)
    shut = {gate.axis: ~pass_gate(block, gate) for gate in task.gates}
    for out in shut.values():
        met[out] = False
    return TaskOutcome(task.task, met, present(task, block.draws), short, shut, tightest)
