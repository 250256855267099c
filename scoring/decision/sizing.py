"""One job sized once: its tasks' demands on the shared draws, and tractors scored and ordered against them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from evener.schema.records import JobSheet, Task, Tractor
from evener.scoring.asks.tasks import demands_of, of_guide_mass
from evener.scoring.combinations.margins import TaskFit, detail
from evener.scoring.combinations.scores import Score, score_all
from evener.scoring.core.demand import TaskDemands
from evener.scoring.core.draws import Array, Draws
from evener.scoring.core.setting import CannotSize, Library, Setting
from evener.scoring.gives.offer import Offer
from evener.scoring.gives.tractors import Tractors


@dataclass(frozen=True)
class Sizing:
    """A job against a library: what its tasks ask, and what could not be sized.

    Attributes
    ----------
    setting : sheet, library and draws
    tasks : demands of every task that is not already taken by an owned machine
    not_sized : tasks whose demands could not be worked out
    owned : names of the tasks that owned machines take
    """

    setting: Setting
    tasks: tuple[TaskDemands, ...]
    not_sized: tuple[CannotSize, ...]
    owned: tuple[str, ...]
    _details: dict[int, tuple[Offer, tuple[TaskFit, ...]]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    @property
    def confidence(self) -> float:
        """The share of draws that has to be met."""
        return self.setting.job.policy.confidence

    @cached_property
    def power_asked(self) -> tuple[str, Array] | None:
        """The task that asks most of the PTO, and what it asks [kW] of a tractor of the published mass per kW."""
        asked = [
            (task.task, of_guide_mass(self.setting, demand))
            for task in self.tasks
            for demand in task.demands
            if demand.axis == "pto_power"
        ]
        return max(asked, key=lambda pair: (float(pair[1].mean()), pair[0])) if asked else None

    def score(self, tractors: Sequence[Tractor], classes: Sequence[Tractor]) -> list[Score]:
        """Score and order tractors; classes stand in for what a record does not state."""
        return score_all(self.tasks, Tractors.of(tractors, classes), self.setting.draws, self.confidence)

    def detail(self, one: Offer) -> tuple[TaskFit, ...]:
        """Return margins and gates of one tractor, task by task; worked out once for all that ask."""
        # Kept with the offer, whose identity is the key: an offer that is gone could lend its identity to another.
        if id(one) not in self._details:
            found = detail(self.tasks, one, self.confidence)
            self._details[id(one)] = (one, found)
        return self._details[id(one)][1]


def size_job(job: JobSheet, library: Library, draws: Draws | None = None, *, traced: bool = False) -> Sizing:
    """Work out what every task of a job asks.

    Tasks that an owned machine is said to take are left out, but for those of an implement that has no tractor; those
    that cannot be sized are kept with the reason. With `traced`, steps are written down.
    """
    setting = Setting(job, library, draws or Draws(), traced=traced)
    taken = {name for machine in job.machines if not machine.needs_tractor for name in machine.takes}
    sized: list[TaskDemands] = []
    failed: list[CannotSize] = []
    for task in _to_size(job, taken):
        try:
            sized.append(demands_of(setting, task))
        except CannotSize as reason:
            failed.append(reason)
    return Sizing(setting, tuple(sized), tuple(failed), tuple(sorted(taken)))


def _to_size(job: JobSheet, taken: set[str]) -> list[Task]:
    return [task for task in job.tasks if task.name not in taken]
