"""Does asking pay? Invented customers with hidden truths, sized in several ways, before and after questions.

Run from the project's folder: python -m experiments.worth_of_questions [CUSTOMERS]. It prints the table of
docs/questions.md and takes about a second a customer.

The world is ours. What a customer's work really asks is worked out by the same models as the answers are, from one draw
of everything that is uncertain; so it shows what asking is worth where the models hold, and nothing about whether they
do. In the plain world the truth lies anywhere in the range a customer gives. In the hopeful world customers say too
little: the truth lies in the upper half of the range, and one time in ten beyond it by up to a fifth.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np

from evener.ingest.store import library as library_files
from evener.schema.records import Choice, JobSheet, Place, Quantity, Task, Tractor
from evener.schema.store import connection as store
from evener.scoring.asks import power
from evener.scoring.combinations.outcomes import outcome
from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.core.draws import Draws
from evener.scoring.core.otherwise import planned_for_sure, with_task, without_task
from evener.scoring.core.setting import CannotSize, Library, Setting
from evener.scoring.decision.sizing import size_job
from evener.scoring.gives.offer import offer
from evener.scoring.questions.asking import survey
from evener.scoring.questions.open_work import OF_THE_WORK
from evener.scoring.questions.question import Question
from evener.scoring.ratings.refresh import refresh

World = Literal["plain", "hopeful"]
DRAWS = 1024
TRUE_DRAWS = 64
COLUMN = 17  # the draws are in no order, so any one of them is one draw of everything
QUESTIONS = 3
MARGIN = 1.25
STEP = 1.03
HOPEFUL_BEYOND = 0.1
BEYOND = 0.2


@dataclass(frozen=True)
class Customer:
    """A customer: what is said first, and what is so.

    Attributes
    ----------
    said : the sheet as first told
    settled : the sheet with every range, choice and plan as it really is
    seed : of the one draw of everything the sheet does not hold
    """

    said: JobSheet
    settled: JobSheet
    seed: int


@dataclass(frozen=True)
class Tally:
    """How one way of sizing did.

    Attributes
    ----------
    under, over : shares of customers whose tractor does not do the work, or is more than one size larger than needed
    regret : mean distance from the smallest tractor that does it [kW]
    """

    name: str
    under: float
    over: float
    regret: float


def customers(number: int, world: World, seed: int = 5) -> Iterator[Customer]:
    """Yield invented customers."""
    rng = np.random.default_rng([seed, int(world == "hopeful")])
    for index in range(number):
        yield _customer(rng, world, index)


def exact(value: float) -> Quantity:
    """Return a quantity given as one number, in its SI unit."""
    return Quantity(value, value, "exact")


def _truth(rng: np.random.Generator, low: float, high: float, world: World) -> float:
    """Return what is so, from a range that was said."""
    if world == "plain":
        return float(rng.uniform(low, high))
    if rng.random() < HOPEFUL_BEYOND:
        return high + float(rng.uniform(0, BEYOND)) * (high - low)
    return float(rng.uniform((low + high) / 2, high))


def _customer(rng: np.random.Generator, world: World, index: int) -> Customer:
    said: list[Task] = []
    so: list[Task] = []

    def ranged(low: float, high: float) -> tuple[Quantity, Quantity]:
        true = _truth(rng, low, high, world)
        return Quantity(low, high, "range"), exact(true)

    def add(name: str, family: str, told: dict[str, Any], real: dict[str, Any], chance: float | None = None) -> None:
        plan: dict[str, Any] = {} if chance is None else {"planned": True, "chance": chance}
        said.append(Task(name, family, **told, **plan))
        if chance is None or rng.random() < chance:
            so.append(Task(name, family, **told | real))

    width = exact(round(float(rng.uniform(1.4, 2.3)), 2))
    first = float(rng.uniform(0.012, 0.03))
    stems, stem = ranged(first, first + float(rng.uniform(0.015, 0.045)))
    growth = Choice(("normal", "thick")) if rng.random() < 0.5 else Choice(("normal",))
    thick = Choice((growth.among[-1 if world == "hopeful" else int(rng.integers(len(growth.among)))],))
    add(
        "cut", "rotary_cutter", {"width_m": width, "stem_m": stems, "growth": growth}, {"stem_m": stem, "growth": thick}
    )
    if rng.random() < 0.7:
        diameter, round_ = ranged(1.2, 1.2 + float(rng.uniform(0.1, 0.6)))
        high = int(rng.integers(1, 4))
        told = {"bale_width_m": exact(1.22), "bale_diameter_m": diameter}
        stack = Quantity(1.0, 3.0, "range") if rng.random() < 0.5 else exact(float(high))
        real = {"bale_diameter_m": round_, "stack_high": exact(float(high))}
        add("bales", "bale_spear", told | {"stack_high": stack}, real)
    if rng.random() < 0.5:
        cut = exact(round(float(rng.uniform(1.7, 2.8)), 2))
        pace = Choice(("normal", "full"))
        fast = Choice((pace.among[1 if world == "hopeful" else int(rng.integers(2))],))
        add("mow", "disc_mower", {"width_m": cut, "pace": pace}, {"pace": fast})
    if rng.random() < 0.6:
        family, low, high_m = [("rotary_tiller", 1.3, 2.3), ("snow_blower", 1.4, 2.2), ("flail_mower", 1.4, 2.4)][
            int(rng.integers(3))
        ]
        wide = exact(round(float(rng.uniform(low, high_m)), 2))
        add("plan", family, {"width_m": wide}, {}, chance=round(float(rng.uniform(0.05, 0.6)), 2))
    slopes, slope = ranged(*[(0.0, 0.03), (0.02, 0.08), (0.05, 0.15)][int(rng.integers(3))])
    place = Place("an invented place", slope=slopes)
    return Customer(JobSheet(place, tuple(said)), JobSheet(replace(place, slope=slope), tuple(so)), seed=1000 + index)


class Truth:
    """What a customer's work really asks, and so which tractors do it."""

    def __init__(self, customer: Customer, library: Library, classes: Sequence[Tractor]) -> None:
        self.customer = customer
        sizing = size_job(customer.settled, library, Draws(TRUE_DRAWS, customer.seed))
        self.setting = sizing.setting
        self.done_by = {
            one.tractor_id
            for one in classes
            if bool(outcome(sizing.tasks, offer(one, classes, self.setting.draws).block).met[0, COLUMN])
        }
        enough = [one for one in classes if one.tractor_id in self.done_by]
        self.needed = min(enough, key=lambda one: one.pto_power_kw or 0.0) if enough else None

    def answered(self, job: JobSheet, one: Question) -> JobSheet:
        """Return a sheet with one question answered as it is."""
        task = next((each for each in self.customer.settled.tasks if each.name == one.task), None)
        if one.quantity == "plan" and one.task is not None:
            return without_task(job, one.task) if task is None else planned_for_sure(job, one.task)
        if one.task is None:
            return replace(job, place=replace(job.place, slope=self.customer.settled.place.slope))
        if task is None:  # of a plan that never comes: what it would have been is as good as any
            return job
        field = SHEET_NAME.get(one.quantity, one.quantity)
        real = getattr(task, field)
        if real is None:
            value = self._drawn(task, one.quantity)
            real = exact(value)
        return with_task(job, one.task, **{field: real})

    def _drawn(self, task: Task, quantity: str) -> float:
        told = (one.values for one in self.setting.unknowns.of(task.name) if one.fact.asks == quantity)
        return float(next(values for values in told if values is not None)[COLUMN])


def rating(job: JobSheet, library: Library) -> float:
    """Return the largest rating [kW] of the implements in use today, at the middle of the sizes said."""
    setting = Setting(job, library, Draws(1), traced=True)
    found = [0.0]
    for task in job.tasks:
        if not task.planned and task.family != "bale_spear":
            estimate = power.fitted(setting, task, np.zeros(1))
            found += [float(estimate.steps[0].result.value)] if estimate is not None else []
    return max(found)


def smallest(classes: Sequence[Tractor], enough: Callable[[Tractor], bool]) -> Tractor:
    """Return the smallest class that is enough, or the largest there is."""
    by_power = sorted(classes, key=lambda one: (one.pto_power_kw or 0.0, one.tractor_id))
    return next((one for one in by_power if enough(one)), by_power[-1])


def picks(customer: Customer, truth: Truth, library: Library, classes: Sequence[Tractor]) -> dict[str, Tractor]:
    """Return the tractor each way of sizing comes to."""
    asked = rating(customer.said, library)
    found = {
        "brochure engine power": smallest(classes, lambda one: (one.engine_power_kw or 0.0) >= asked),
        "implement's rating": smallest(classes, lambda one: (one.pto_power_kw or 0.0) >= asked),
        "rating + 25 %": smallest(classes, lambda one: (one.pto_power_kw or 0.0) >= MARGIN * asked),
    }
    largest = smallest(classes, lambda _one: False)
    start = survey(customer.said, library, classes, draws=Draws(DRAWS))
    found["rank"] = start.chooser.now or largest
    rng = np.random.default_rng(customer.seed)
    for order in ("ask", "random"):
        job, questions, put = customer.said, start.questions, set[str]()
        for number in range(1, QUESTIONS + 1):
            there = {None, *(task.name for task in job.tasks)}
            can = [one for one in questions if one.id not in put and one.quantity not in OF_THE_WORK]
            left = [one for one in can if one.task in there]
            if left:
                one = left[0] if order == "ask" else left[int(rng.integers(len(left)))]
                put.add(one.id)
                job = truth.answered(job, one)
            found[f"rank + {number} {order}"] = ranked(job, library, classes) or largest
            if order == "ask" and number < QUESTIONS:
                questions = survey(job, library, classes, draws=Draws(DRAWS)).questions
    return found


def ranked(job: JobSheet, library: Library, classes: Sequence[Tractor]) -> Tractor | None:
    """Return the pick of `rank`."""
    scores = size_job(job, library, Draws(DRAWS)).score(classes, classes)
    return scores[0].offer.tractor if scores[0].meets else None


def tally(number: int, world: World, library: Library, classes: Sequence[Tractor]) -> tuple[list[Tally], int]:
    """Return how each way of sizing did over some customers, and how many had work that a class can do."""
    powers = sorted({one.pto_power_kw or 0.0 for one in classes})
    sizes = [power for before, power in zip([0.0, *powers], powers, strict=False) if power > before * STEP]
    steps = {one.tractor_id: sum((one.pto_power_kw or 0.0) >= size for size in sizes) for one in classes}
    results: dict[str, list[tuple[bool, bool, float]]] = {}
    for customer in customers(number, world):
        try:
            truth = Truth(customer, library, classes)
        except CannotSize:
            continue
        need = truth.needed
        if need is None:
            continue
        for name, pick in picks(customer, truth, library, classes).items():
            over = steps[pick.tractor_id] - steps[need.tractor_id] > 1
            gap = abs((pick.pto_power_kw or 0.0) - (need.pto_power_kw or 0.0))
            results.setdefault(name, []).append((pick.tractor_id not in truth.done_by, over, gap))
    means = {name: np.mean(np.array(rows, float), axis=0) for name, rows in results.items()}
    counted = len(next(iter(results.values()), []))
    return [Tally(name, float(m[0]), float(m[1]), float(m[2])) for name, m in means.items()], counted


def table(tallies: Sequence[Tally]) -> str:
    """Return the table as Markdown."""
    lines = ["| sized by | too small | too large by more than a size | mean regret, kW |", "|---|---:|---:|---:|"]
    lines += [f"| {one.name} | {one.under:.1%} | {one.over:.1%} | {one.regret:.1f} |" for one in tallies]
    return "\n".join(lines)


def read_library(folder: Path) -> tuple[Library, list[Tractor]]:
    """Return the shipped library and its classes, from a store made in a folder."""
    path = folder / "store.duckdb"
    library_files.build(path, after=refresh)
    with store.open_read(path) as con:
        implements = {one.implement_id: one for one in store.read_implements(con)}
        library = Library(
            implements, store.read_families(con), store.read_rating_models(con), store.read_reference(con)
        )
        return library, store.read_tractors(con, ["class"])


def main(number: int) -> None:
    """Print the tables of both worlds."""
    worlds: tuple[World, ...] = ("plain", "hopeful")
    with tempfile.TemporaryDirectory() as folder:
        library, classes = read_library(Path(folder))
    for world in worlds:
        tallies, counted = tally(number, world, library, classes)
        sys.stdout.write(f"{world} world, {counted} of {number} customers\n\n{table(tallies)}\n\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
