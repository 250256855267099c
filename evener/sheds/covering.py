"""Who can do whose work: every task with every combination of the shed, what hangs on one thing, what fails without."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer, Worded
from evener.scoring.shed.cells import VERDICTS
from evener.scoring.shed.jobs import ON_LOADER, tools_of
from evener.scoring.shed.losing import losses
from evener.sheds.words import why

if TYPE_CHECKING:
    from evener.schema.shed import Shed
    from evener.scoring.core.printing import Units
    from evener.scoring.shed.cells import Cell
    from evener.scoring.shed.losing import Loss
    from evener.scoring.shed.matrix import Matrix

SEASONS = 10


@dataclass(frozen=True)
class CombinationCover:
    """One combination on one task.

    Attributes
    ----------
    tractor, owner : id of the tractor, and whose
    machine : id or name of the machine
    verdict : does it, does it with, does not or not known
    why : the reason: how far it falls short, what it takes, or which figure to read
    chance : share of the draws that meet it as it is [1]
    hours : hours of work each time [h]
    """

    tractor: str
    owner: str | None
    machine: str
    verdict: str
    why: Worded[str]
    chance: float
    hours: float | None


@dataclass(frozen=True)
class TaskCover:
    """One task and what does it.

    Attributes
    ----------
    member, task : whose, and which
    covered : whether something does it, as it is or with a remedy
    tractors, machines : ids of those that do
    why_not : where nothing could be held against it, why
    combinations : every one
    """

    member: str
    task: str
    covered: bool
    tractors: tuple[str, ...]
    machines: tuple[str, ...]
    why_not: tuple[str, ...]
    combinations: tuple[CombinationCover, ...]


@dataclass(frozen=True)
class Without:
    """What fails without one tractor or machine.

    Attributes
    ----------
    thing, kind, owner : id, tractor or machine, and whose
    tasks, hours : tasks that nothing else covers, and their hours in the season
    seasons : in how many of ten seasons some task is left without it
    tasks_then, hours_then : how many and how long, in those
    """

    thing: str
    kind: str
    owner: str | None
    tasks: tuple[str, ...]
    hours: float
    seasons: int
    tasks_then: float
    hours_then: float

    @property
    def said(self) -> str:
        """In one sentence; never that a thing is redundant."""
        often = f"{self.seasons} of {SEASONS} seasons"
        if self.tasks:
            many = f"{len(self.tasks)} task{'s' if len(self.tasks) > 1 else ''}"
            return f"without it {many} and {self.hours:.0f} h have nothing else: {'; '.join(self.tasks)}"
        if self.seasons:
            return f"without it {self.tasks_then:.1f} tasks and {self.hours_then:.0f} h are uncovered in {often}"
        return "without it every task here still has something that does it; dates are another matter: evener assign"


@dataclass(frozen=True)
class Cover(Answer):
    """A shed's matrix.

    Attributes
    ----------
    shed : its name
    confidence, draws : in what share of how many draws a combination has to do its task
    tasks : every task
    uncovered : tasks that nothing covers
    hanging : tasks that hang on one machine or one tractor
    without : what fails without each tractor and machine
    sized : how many different tasks were sized
    """

    shed: str
    confidence: float
    draws: int
    tasks: tuple[TaskCover, ...]
    uncovered: tuple[str, ...]
    hanging: tuple[str, ...]
    without: tuple[Without, ...]
    sized: int
    units: Units = field(default="us", repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per task and combination.

        Parameters
        ----------
        units : "si" or "us"
        """
        told = self.to_dict(units)["tasks"]
        return [{"member": one["member"], "task": one["task"], **way} for one in told for way in one["combinations"]]


def cover(shed: Shed, found: Matrix, only: Sequence[int], *, draws: int) -> Cover:
    """Return a shed's matrix in words.

    Parameters
    ----------
    shed : the shed
    found : what its combinations do
    only : numbers of the tasks that are told
    draws : on how many draws
    """
    names = {one.number: one.label for one in found.wanted}
    by_task: dict[int, list[Cell]] = {number: [] for number in names}
    for cell in found.cells:
        by_task[cell.task].append(cell)
    reasons = {one.task: one.why for one in found.uncovered}
    tasks = tuple(
        _task(shed, found, number, by_task[number], reasons.get(number, ())) for number in names if number in only
    )
    return Cover(
        shed.name,
        shed.confidence,
        draws,
        tasks,
        uncovered=tuple(f"{one.member}: {one.task}" for one in tasks if not one.covered),
        hanging=tuple(filter(None, (_hangs(one) for one in tasks))),
        without=_without(shed, found, names),
        sized=found.sized,
        units=shed.units,  # type: ignore[arg-type]
    )


def _task(shed: Shed, found: Matrix, number: int, cells: Sequence[Cell], reasons: tuple[str, ...]) -> TaskCover:
    one = found.wanted[number]
    ways = tuple(
        CombinationCover(
            shed.tractors[cell.tractor].tractor_id,
            shed.tractors[cell.tractor].owner,
            cell.tool,
            cell.verdict,
            why(cell),
            cell.chance,
            None if cell.hours is None else round(cell.hours, 4),
        )
        for cell in sorted(cells, key=lambda cell: (VERDICTS.index(cell.verdict), cell.tractor, cell.machine or 0))
    )
    doing = [cell for cell in cells if cell.covers]
    return TaskCover(
        one.member.name,
        one.task.name,
        bool(doing),
        tuple(dict.fromkeys(shed.tractors[cell.tractor].tractor_id for cell in doing)),
        tuple(dict.fromkeys(cell.tool for cell in doing)),
        reasons,
        ways,
    )


def _hangs(one: TaskCover) -> str:
    alone = [names[0] for names in (one.tractors, one.machines) if len(names) == 1 and names[0] != ON_LOADER]
    return f"{one.member}: {one.task} hangs on {' and '.join(alone)}" if alone else ""


def _without(shed: Shed, found: Matrix, names: dict[int, str]) -> tuple[Without, ...]:
    times = {one.number: max(1, len(one.windows)) for one in found.wanted}
    tools = [tool for tool in tools_of(shed) if tool.number is not None]
    tractors = losses(found.cells, found.met, times, kind="tractor", count=len(shed.tractors))
    machines = losses(found.cells, found.met, times, kind="machine", count=len(tools))
    told = [(one, shed.tractors[one.number].tractor_id, shed.tractors[one.number].owner) for one in tractors]
    told += [(one, tools[one.number].name, tools[one.number].owner) for one in machines]
    return tuple(_loss(one, thing, owner, names) for one, thing, owner in told)


def _loss(one: Loss, thing: str, owner: str | None, names: dict[int, str]) -> Without:
    often = round(one.seasons * SEASONS)
    if one.seasons > 0 and not often:
        often = 1
    return Without(
        thing,
        one.kind,
        owner,
        tuple(names[task] for task in one.tasks),
        one.hours,
        often,
        one.tasks_then,
        one.hours_then,
    )
