"""Every task of a shed against every tractor with every machine that may do it: the one file here that sizes.

Tasks that ask the same under the same conditions are sized once, whoever has them; all tractors stand against the same
draws. A verdict is one of four:

- *does it*: in as large a share of the draws as is asked for;
- *does it with*: a remedy within its bounds: weights, a slower pace, part of the load, an adapter at the hitch;
- *does not*: a wall, or short beyond what a remedy gives;
- *not known*: it does it or not by figures that are assumed, and which can be read off a plate or a book.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.shed import usual
from evener.scoring.advice.remedies import remedies
from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations import work_time
from evener.scoring.combinations.asked import asked
from evener.scoring.combinations.margins import LEAST_RATIO, detail
from evener.scoring.combinations.outcomes import ratio
from evener.scoring.core.draws import Draws
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.sizing import Sizing
from evener.scoring.gives.block import AT_ONCE, Block
from evener.scoring.gives.capacity import FIELD, capacity
from evener.scoring.gives.gates import offered, passes
from evener.scoring.gives.offer import Offer
from evener.scoring.gives.tractors import Tractors, with_words_of
from evener.scoring.shed.cells import DOES, DOES_NOT, NOT_KNOWN, WITH, Cell, Plate, Remedy, Uncovered, bushings
from evener.scoring.shed.jobs import Tool, Wanted, alike, hours_of, wanted

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.records import JobSheet, Tractor
    from evener.schema.shed import Shed
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Library
    from evener.scoring.gives.known import Known

DRAWS = 512
SLOWER, PART_LOAD, MORE_WEIGHT = usual("slower"), usual("part_load"), usual("more_weights")
NOT_STATED = "not stated"
SLOWED = ("pto_power", "drawbar_pull")
LOADED = ("rear_lift", "loader_lift", "tow_mass")
BALANCED = ("front_axle", "rear_axle")
WEIGHED = (*BALANCED, "loader_lift")
RATED = ("rated", "fitted")
LOADERS = ("loader_lift", "loader_height")
LEAST_SHARE = {"slower": SLOWER, "part_load": PART_LOAD, "more_weights": MORE_WEIGHT}
TOWED = ("trailed", "semi_mounted")
UNBRAKED = "none"


@dataclass(frozen=True)
class Matrix:
    """What a shed's combinations do.

    Attributes
    ----------
    wanted : the tasks
    tractors : the tractors, in the shed's order
    cells : one for each task with each machine that may do it and each tractor, in that order
    uncovered : tasks without a cell, and why
    met : by place in `cells`, the draws in which one that covers its task does so
    paces : by machine, the pace on the road that towing it allows [km/h]
    sized : how many different tasks were sized
    """

    wanted: tuple[Wanted, ...]
    tractors: tuple[Tractor, ...]
    cells: tuple[Cell, ...]
    uncovered: tuple[Uncovered, ...]
    met: dict[int, Mask]
    paces: dict[int | None, float | None]
    sized: int


def matrix(
    shed: Shed, library: Library, classes: Sequence[Tractor], *, draws: Draws | None = None, weights: bool = True
) -> Matrix:
    """Set every task of a shed against its tractors and machines.

    Parameters
    ----------
    shed : the shed
    library : records and published tables
    classes : generic tractors, which stand in for what a record does not state
    draws : shared draws
    weights : whether the weights a tractor needs fitted are worked out
    """
    yard = _Yard(Tractors.of(shed.tractors, classes), draws or Draws(n=DRAWS), library, weights=weights)
    tasks = wanted(shed, library.families)
    kinds: dict[str, _Kind | CannotSize] = {}
    cells: list[Cell] = []
    uncovered: list[Uncovered] = []
    met: dict[int, Mask] = {}
    for one in tasks:
        before = len(cells)
        failed: list[str] = [] if one.tools else ["no machine of its kind is in the shed"]
        for tool in one.tools:
            key, job = alike(one, tool, shed.confidence)
            if key not in kinds:
                kinds[key] = yard.kind(job)
            kind = kinds[key]
            if isinstance(kind, CannotSize):
                failed.append(f"{kind.why}. {kind.remedy}")
                continue
            hours = hours_of(one, kind.rate_ha_h)
            for cell, mask in zip(kind.cells, kind.met, strict=True):
                if mask is not None:
                    met[len(cells)] = mask
                cells.append(cell.of(one.number, tool.number, tool.name, _with(hours, cell)))
        if len(cells) == before:
            uncovered.append(Uncovered(one.number, tuple(dict.fromkeys(failed))))
    paces = {tool.number: towing_pace(library, tool) for one in tasks for tool in one.tools}
    return Matrix(tasks, shed.tractors, tuple(cells), tuple(uncovered), met, paces, len(kinds))


def _with(hours: float | None, cell: Cell) -> float | None:
    """Return the hours with a remedy that slows: a slower pace and part loads take as much longer."""
    slowest = min((one.share for one in cell.remedies if one.share is not None), default=1.0)
    return None if hours is None else hours / slowest


def towing_pace(library: Library, tool: Tool) -> float | None:
    """Return the pace on the road at which a towed machine without brakes may go, or None where nothing binds it."""
    record = tool.record
    if record is None or record.attachment not in TOWED or record.brakes not in (None, UNBRAKED):
        return None
    paces = [row["speed_max_km_h"] for row in library.rows("towing", brake_on_towed=UNBRAKED) if row["speed_max_km_h"]]
    return min(paces, default=None)


@dataclass(frozen=True)
class _Kind:
    """One kind of task: its verdicts by tractor with the draws that meet it, and how much land it does in an hour."""

    cells: tuple[Cell, ...]
    met: tuple[Mask | None, ...]
    rate_ha_h: float | None


@dataclass(frozen=True)
class _Axis:
    """One axis of one kind of task, for all tractors.

    Attributes
    ----------
    worst : demand over capacity as surely as is asked for; NaN where it is not known [1]
    enough : share of the draws that meet it [1]
    assumed : where the capacity is not from the tractor's own record
    need, has : what is asked as surely as asked for, and what is there, in the axis's unit
    """

    demand: Demand
    worst: Array
    enough: Array
    assumed: Mask
    need: Array
    has: Array

    def plate(self, row: int) -> Plate:
        """Return the figure of one tractor that is to be read."""
        has = float(self.has[row])
        taken = None if np.isnan(has) else has
        return Plate(FIELD.get(self.demand.axis, self.demand.axis), float(self.need[row]), self.demand.unit, taken)


class _Yard:
    """All tractors of a shed side by side, on the shared draws."""

    def __init__(self, tractors: Tractors, draws: Draws, library: Library, *, weights: bool) -> None:
        self.tractors, self.draws, self.library, self.weights = tractors, draws, library, weights
        pairs = zip(tractors.records, tractors.models, strict=True)
        self.worded = [with_words_of(own, model)[0] for own, model in pairs]
        rows = np.arange(len(tractors))
        # What stands in the records is kept from task to task; what is worked out on a task's terms is its own.
        self.parts: list[tuple[NDArray[np.intp], dict[str, Known]]] = [
            (rows[at : at + AT_ONCE], {}) for at in range(0, len(rows), AT_ONCE)
        ]

    def kind(self, job: JobSheet) -> _Kind | CannotSize:
        """Return how all tractors fare at one kind of task, or why it cannot be sized."""
        setting = Setting(job, self.library, self.draws)
        try:
            demands = demands_of(setting, job.tasks[0])
        except CannotSize as reason:
            return reason
        sizing = Sizing(setting, (demands,), (), ())
        timed = work_time.work(sizing.setting, [one.task for one in sizing.tasks], sizing.confidence)
        rate = timed[0]["rate"] if timed else None
        tightest = np.zeros((len(self.tractors), self.draws.n))
        blocks = [Block(self.tractors, rows, self.draws, taken) for rows, taken in self.parts]
        axes = [self._axis(demand, blocks, sizing.confidence, tightest) for demand in demands.demands]
        for (_, taken), block in zip(self.parts, blocks, strict=True):
            taken.update(block.taken)
        cells, met = [], []
        for row in range(len(self.tractors)):
            cell = self._cell(sizing, demands, axes, row, float(np.mean(tightest[row] <= 1.0)))
            cells.append(cell)
            least = min((LEAST_SHARE.get(remedy.kind, 1.0) for remedy in cell.remedies), default=1.0)
            met.append(tightest[row] <= 1.0 / least if cell.covers else None)
        return _Kind(tuple(cells), tuple(met), None if rate is None else rate["middle"])

    def _axis(self, demand: Demand, blocks: Sequence[Block], confidence: float, tightest: Array) -> _Axis:
        parts = []
        for block in blocks:
            shape = (len(block), self.draws.n)
            found = np.broadcast_to(ratio(demand, block), shape)
            tightest[block.rows] = np.maximum(tightest[block.rows], np.where(np.isnan(found), np.inf, found))
            offers = capacity(block, demand)
            need = _at(np.broadcast_to(asked(demand, block), shape), confidence)
            worst = np.maximum(_at(found, confidence), LEAST_RATIO)
            stated = np.median(offers.values, axis=1) if offers.middle is None else offers.middle
            has = stated if demand.terms is None else need / worst
            enough = np.count_nonzero(found <= 1.0, axis=1) / self.draws.n
            parts.append((worst, enough, offers.assumed, need, has))
        worst, enough, assumed, need, has = (np.concatenate(one) for one in zip(*parts, strict=True))
        return _Axis(demand, worst, enough, assumed, need, has)

    def _cell(self, sizing: Sizing, demands: TaskDemands, axes: Sequence[_Axis], row: int, chance: float) -> Cell:
        tractor, sure = self.worded[row], sizing.confidence
        cell = Cell(task=0, tractor=row, machine=None, tool="", verdict=DOES, chance=chance, hours=None)
        plates, remedies = [], []
        for gate in demands.gates:
            words = offered(gate, tractor)
            if passes(gate, tractor):
                remedies += bushings(gate.axis, words, gate.asked)
            elif words == NOT_STATED:
                plates.append(Plate(gate.axis))
            else:
                return replace(cell, verdict=DOES_NOT, chance=0.0, axis=gate.axis, asked=gate.asked, has=words)
        short = [axis for axis in axes if not axis.enough[row] >= sure]
        no_loader = any(axis.demand.axis == "loader_lift" and np.isnan(axis.worst[row]) for axis in short)
        plates += [Plate("loader")] if no_loader else []
        blocked: list[_Axis] = []
        for axis in short:
            if no_loader and axis.demand.axis in LOADERS:
                continue
            if np.isnan(axis.worst[row]) or (axis.assumed[row] and axis.enough[row] > 1 - sure):
                plates.append(axis.plate(row))
            elif (way := _remedy(sizing, axis.demand, 1.0 / float(axis.worst[row]))) is not None:
                remedies.append(way)
            else:
                blocked.append(axis)
        if blocked:
            worst = max(blocked, key=lambda axis: float(axis.worst[row]))
            return replace(
                cell,
                verdict=DOES_NOT,
                axis=worst.demand.axis,
                short=1.0 - 1.0 / float(worst.worst[row]),
                need=float(worst.need[row]),
                capacity=float(worst.has[row]),
                unit=worst.demand.unit,
            )
        if plates:
            return replace(cell, verdict=NOT_KNOWN, plates=tuple(dict.fromkeys(plates)))
        if self.weights and any(axis.demand.axis in WEIGHED for axis in axes):
            remedies += self._fitted(sizing, demands, row)
        return replace(cell, verdict=WITH if remedies else DOES, remedies=tuple(remedies))

    def _fitted(self, sizing: Sizing, demands: TaskDemands, row: int) -> list[Remedy]:
        """Return the weights that a task counts on."""
        one = Offer(self.tractors.at(row), self.draws)
        found = detail([demands], one, sizing.confidence)
        return [
            Remedy(remedy.kind, remedy.text, amount=remedy.amount, unit=remedy.unit)
            for remedy in remedies(sizing, one, found)
            if remedy.needed and remedy.kind != "adapter"
        ]


def _at(values: Array, confidence: float) -> Array:
    """Return, row by row, the smallest draw that so large a share of them does not exceed."""
    rank = min(max(int(np.ceil(confidence * values.shape[1] - 1e-9)) - 1, 0), values.shape[1] - 1)
    return np.asarray(np.partition(values, rank, axis=1)[:, rank])


def _remedy(sizing: Sizing, demand: Demand, share: float) -> Remedy | None:
    """Return what is done instead where it is near enough: slower above the rating, part of the load, more weight."""
    if demand.axis in SLOWED and demand.basis not in RATED and share >= SLOWER:
        return Remedy("slower", f"a pace of {share:.0%} of the usual", share=share)
    carries = sizing.setting.family(sizing.setting.job.tasks[0]).power == "carried"
    if demand.axis in LOADED and share >= PART_LOAD and carries:
        return Remedy("part_load", f"{share:.0%} of the load", share=share)
    if demand.axis in BALANCED and share >= MORE_WEIGHT:
        return Remedy("more_weights", "more than a usual set of weights: weigh it first")
    return None
