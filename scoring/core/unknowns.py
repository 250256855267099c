"""Unknowns: every uncertain fact of a job, registered by the call that draws it, with how it can be settled.

Nothing else is open. What a task rests on is recorded while the task is sized, so that `rank`, `ask`, `check` and the
interview read one register.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from evener.schema.shared import machine_of
from evener.scoring.core.draws import NORMAL_CUT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.records import JobSheet, Quantity, Task
    from evener.scoring.core.draws import Array, Draws, Mask

Owner = Literal["place", "task", "machine", "tractor", "trade"]
Settled = Mapping[str, float | str | bool]

SCATTER = "the scatter of a published figure: nothing at the place tells it"
CUSTOM = "a figure of the trade: it differs from machine to machine and from day to day"


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact that may be uncertain: whose it is, what stands in for it, and how it can be settled.

    Attributes
    ----------
    key : names its draws
    owner : whose it is: the place's, a task's, that of a machine of the sheet, a tractor's, or the custom of the trade
    of : name of the task, the machine or the tractor; empty for the place and the trade
    name : what it is, unit suffix included
    unit : of its draws
    text : the words of the sheet, or what stands in for them
    source, status : where that comes from
    asks : the quantity of `question.csv` that settles it; empty where nobody can answer it
    stays : why nobody can answer it; empty where it can be asked
    """

    key: str
    owner: Owner
    of: str
    name: str
    unit: str = "1"
    text: str = ""
    source: str = "PRACTICE"
    status: str = "practice"
    asks: str = ""
    stays: str = ""

    def __post_init__(self) -> None:
        """Refuse a fact that is neither asked nor known to be beyond asking."""
        if bool(self.asks) == bool(self.stays):
            raise TypeError(f"{self.key}: say either what settles it or why nobody can answer it")


def of_place(
    name: str,
    *,
    drawn_as: str = "",
    text: str = "",
    source: str = "PRACTICE",
    status: str = "practice",
    unit: str = "1",
) -> Fact:
    """Return a fact of the place that its sheet can settle."""
    return Fact(drawn_as or f"place/{name}", "place", "", name, unit, text, source, status, asks=name)


def of_task(
    task: str,
    name: str,
    *,
    drawn_as: str = "",
    asks: str = "",
    stays: str = "",
    text: str = "",
    source: str = "PRACTICE",
    status: str = "practice",
    unit: str = "1",
) -> Fact:
    """Return a fact of a task that its sheet can settle, by its own name or by what `asks` names."""
    asked = "" if stays else asks or name
    return Fact(drawn_as or f"task/{task}/{name}", "task", task, name, unit, text, source, status, asked, stays)


def of_machine(job: JobSheet, task: Task, field: str, fact: Fact) -> Fact:
    """Return a fact of a task as its machine's, drawn once for all tasks that share it, where it is the machine's.

    Parameters
    ----------
    job, task, field : as `machine_of` takes them
    fact : as the task's own
    """
    own = machine_of(job, task, field)
    if own is None:
        return fact
    first = next((one.name for one in job.tasks if one.machine == own.name), task.name)
    key = fact.key.replace(f"task/{task.name}/", f"task/{first}/", 1)
    return replace(fact, owner="machine", of=own.name, key=key)


def of_trade(
    key: str,
    *,
    unit: str = "1",
    text: str = "",
    source: str = "PRACTICE",
    status: str = "practice",
    stays: str = CUSTOM,
) -> Fact:
    """Return a figure of the trade, which nobody at the place can settle."""
    return Fact(key, "trade", "", key, unit, text, source, status, stays=stays)


@dataclass(frozen=True, slots=True)
class Unknown:
    """One fact that was drawn, with what is believed of it.

    Attributes
    ----------
    fact : what it is
    low, high : bounds of what is believed, in the fact's unit; None for words
    values : draws of the fact, or of what asking would tell where that is another thing; None for words
    words, chances : what it may be, where it is one of some words
    derived : whether `values` are of what asking would tell
    """

    fact: Fact
    low: float | None = None
    high: float | None = None
    values: Array | None = None
    words: tuple[str, ...] = ()
    chances: tuple[float, ...] = ()
    derived: bool = False


@dataclass
class Unknowns:
    """The register of one job's unknowns, and the only way to draw.

    Parameters
    ----------
    draws : the shared set of draws
    settled : value by key: what is settled is a constant, and open no longer
    """

    draws: Draws
    settled: Settled = field(default_factory=dict)
    _known: dict[Fact, Unknown] = field(default_factory=dict, init=False, repr=False)
    _drawn: dict[tuple[str | float, ...], Array] = field(default_factory=dict, init=False, repr=False)
    _users: dict[str, dict[Fact, None]] = field(default_factory=dict, init=False, repr=False)
    _listening: list[dict[Fact, None]] = field(default_factory=list, init=False, repr=False)

    @property
    def n(self) -> int:
        """How many draws there are."""
        return self.draws.n

    def uniform(self, fact: Fact, low: float, high: float) -> Array:
        """Draw uniformly from low to high, in the fact's unit; where they are one, nothing is unknown."""
        if low == high:
            return np.full(self.n, float(low))
        return self._take(fact, (low, high), (low, high), lambda: self.draws.uniform(fact.key, low, high))

    def normal(self, fact: Fact, mean: float = 0.0, sd: float = 1.0) -> Array:
        """Draw from a normal distribution cut at three standard deviations, in the fact's unit."""
        if sd == 0.0:
            return np.full(self.n, float(mean))
        ends = (mean - NORMAL_CUT * sd, mean + NORMAL_CUT * sd)
        return self._take(fact, (mean, sd), ends, lambda: self.draws.normal(fact.key, mean, sd))

    def triangular(self, fact: Fact, low: float, usual: float, high: float) -> Array:
        """Draw from a triangle with its top at the usual value, in the fact's unit."""
        if low == high:
            return np.full(self.n, float(low))
        drawn = self._take(
            fact, (low, usual, high), (low, high), lambda: self.draws.triangular(fact.key, low, usual, high)
        )
        self.would_tell(fact, drawn)
        return drawn

    def log_normal(self, fact: Fact, low: float, high: float) -> Array:
        """Draw from a log-normal distribution that ends, three standard deviations out, at two values."""
        mean, sd = (math.log(low) + math.log(high)) / 2, (math.log(high) - math.log(low)) / (2 * NORMAL_CUT)
        drawn = self._take(fact, (mean, sd, 0.0), (low, high), lambda: np.exp(self.draws.normal(fact.key, mean, sd)))
        self.would_tell(fact, drawn)
        return drawn

    def published(self, fact: Fact, value: float, range_pct: float | None) -> Array:
        """Draw a published value whose printed +-range is two standard deviations, cut at three."""
        return self.normal(fact, value, value * (range_pct or 0.0) / 200.0)

    def quantity(self, fact: Fact, quantity: Quantity) -> Array:
        """Draw what a customer gave: exact, or uniform over its range.

        Raises
        ------
        ValueError
            If the quantity is unknown: a prior has to stand in first.
        """
        if quantity.low is None or quantity.high is None:
            raise ValueError(f"{fact.key} is unknown: give it a prior before drawing it")
        return self.uniform(fact, quantity.low, quantity.high)

    def choice(self, fact: Fact, among: Sequence[str]) -> NDArray[np.intp]:
        """Draw the index of one of several words, each as likely."""
        if fact.key in self.settled:
            return np.full(self.n, among.index(str(self.settled[fact.key])), np.intp)
        if len(among) > 1:
            self._register(Unknown(fact, words=tuple(among), chances=(1 / len(among),) * len(among)))
        return self.draws.choice(fact.key, among)

    def happens(self, fact: Fact, chance: float) -> Mask:
        """Draw whether a thing with this chance happens."""
        if fact.key in self.settled:
            return np.full(self.n, bool(self.settled[fact.key]))
        if 0.0 < chance < 1.0:
            self._register(Unknown(fact, words=("yes", "no"), chances=(chance, 1 - chance)))
        return self.draws.happens(fact.key, chance)

    def would_tell(self, fact: Fact, values: Array) -> None:
        """Keep what asking for a fact would tell, where that is worked out from it: a mass, not its scatter."""
        known = self._known.get(fact)
        if known is not None:
            self._known[fact] = replace(known, values=values, derived=True)

    @contextmanager
    def sizing(self, task: str) -> Iterator[None]:
        """Record what is drawn meanwhile as what a task rests on."""
        with self.listening() as used:
            yield
        self._users.setdefault(task, {}).update(used)

    @contextmanager
    def listening(self) -> Iterator[dict[Fact, None]]:
        """Give the facts that are drawn meanwhile; whoever keeps a result keeps them with it, for `used_again`."""
        heard: dict[Fact, None] = {}
        self._listening.append(heard)
        try:
            yield heard
        finally:
            self._listening.pop()

    def used_again(self, facts: Iterable[Fact]) -> None:
        """Record the use of facts behind a result that was kept."""
        for heard in self._listening:
            heard.update(dict.fromkeys(facts))

    def answers(self, facts: Iterable[Fact]) -> list[Array]:
        """Return the draws of what asking of tasks would tell, in numbers above nothing, of those of facts."""
        known = [self._known[fact] for fact in facts if fact.asks and fact.owner == "task" and fact in self._known]
        return [one.values for one in known if one.values is not None and (one.derived or (one.low or 0.0) > 0.0)]

    def of(self, task: str) -> list[Unknown]:
        """Return what a task rests on, in the order in which it was drawn."""
        return [self._known[fact] for fact in self._users.get(task, ())]

    def __iter__(self) -> Iterator[Unknown]:
        """Go through everything that was drawn."""
        return iter(self._known.values())

    def _take(
        self, fact: Fact, shape: tuple[float, ...], ends: tuple[float, float], draw: Callable[[], Array]
    ) -> Array:
        if fact.key in self.settled:
            return np.full(self.n, float(self.settled[fact.key]))
        drawn = self._drawn.get((fact.key, *shape))
        if drawn is None:
            drawn = self._drawn[(fact.key, *shape)] = draw()
        self._register(Unknown(fact, *ends, values=drawn))
        return drawn

    def _register(self, unknown: Unknown) -> None:
        self._known.setdefault(unknown.fact, unknown)
        self.used_again((unknown.fact,))
