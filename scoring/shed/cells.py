"""What one combination does of one task, and what is done where it does not do it by itself."""

from __future__ import annotations

from dataclasses import dataclass

DOES = "does it"
WITH = "does it with"
DOES_NOT = "does not"
NOT_KNOWN = "not known"
VERDICTS = (DOES, WITH, NOT_KNOWN, DOES_NOT)
COVERS = frozenset({DOES, WITH})
NOT_LENT = "not_lent"  # what falls short, where a thing is not to be had at the place


@dataclass(frozen=True)
class Remedy:
    """What is done instead.

    Attributes
    ----------
    kind : adapter, slower, part_load, more_weights, front_weights, rear_weights or counterweight
    text : in words, without the amount
    amount, unit : how much, where that is a number
    share : of the usual pace or load, where it takes longer with it [1]
    """

    kind: str
    text: str
    amount: float | None = None
    unit: str = "kg"
    share: float | None = None


@dataclass(frozen=True)
class Plate:
    """A figure that decides and is assumed or not stated.

    Attributes
    ----------
    field : field of the tractor's record, or the gate it is
    need, unit : from what value on it does the task, where that is a number
    taken : what is assumed
    """

    field: str
    need: float | None = None
    unit: str | None = None
    taken: float | None = None


@dataclass(frozen=True)
class Cell:
    """One task with one machine and one tractor.

    Attributes
    ----------
    task, tractor, machine : their numbers; machine is None for a loader's tool
    tool : id or name of the machine
    verdict : does it, does it with, does not or not known
    chance : share of the draws that meet it as it is [1]
    hours : hours of work each time, with what its remedies cost; None where not known [h]
    axis : what falls short, for what does not
    short : by how much of what is asked [1]
    need, capacity, unit : what is asked as surely as asked for, and what is there
    asked, has : the same in words, where it is a matter of fitting or not
    remedies : what is done instead
    plates : figures that decide and are assumed or not stated
    """

    task: int
    tractor: int
    machine: int | None
    tool: str
    verdict: str
    chance: float
    hours: float | None
    axis: str | None = None
    short: float | None = None
    need: float | None = None
    capacity: float | None = None
    unit: str | None = None
    asked: str | None = None
    has: str | None = None
    remedies: tuple[Remedy, ...] = ()
    plates: tuple[Plate, ...] = ()

    def of(self, task: int, machine: int | None, tool: str, hours: float | None) -> Cell:
        """Return the same of a task that asks the same.

        Parameters
        ----------
        task, machine, tool, hours : as the attributes
        """
        # A shed has hundreds of thousands: copying a cell's fields takes a tenth of the time of making it anew.
        made = object.__new__(Cell)
        vars(made).update(vars(self), task=task, machine=machine, tool=tool, hours=hours)
        return made

    @property
    def covers(self) -> bool:
        """Whether it does the task, as it is or with a remedy."""
        return self.verdict in COVERS


@dataclass(frozen=True)
class Uncovered:
    """A task that no combination could be held against, and why."""

    task: int
    why: tuple[str, ...]


def bushings(axis: str, has: str, wants: str) -> list[Remedy]:
    """Return the bushings that a hitch one category above the machine's takes (common practice, no source)."""
    if axis != "hitch_category" or _category(has) <= _category(wants):
        return []
    return [Remedy("adapter", f"bushings on the lower pins: it has {has}, {wants} is asked")]


def _category(words: str) -> int:
    """Return the number of the largest category that words name."""
    return max((int(sign) for sign in words if sign.isdigit()), default=0)
