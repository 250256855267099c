"""What came out: what each way of choosing costs, how often it is short, large or unsafe, how true chances are."""

from __future__ import annotations

import csv
import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from itertools import groupby
from pathlib import Path

from experiments.casebook.cases import rung
from experiments.decision_world.figures import HERE, Tractor
from experiments.decision_world.money import Years

DECILES = 10


@dataclass(frozen=True)
class Choice:
    """One choice for one customer and one kind of people, against what was really needed.

    Attributes
    ----------
    customer, people, rule : whose, and how it was chosen
    pick : the class
    lost : what it costs more than the best class over the years
    unsafe : whether it is unsafe at work of today
    rungs : sizes above the smallest class that does all; negative where it is short
    no_pick : whether the rule came to nothing, and the rating x 1.15 stands in
    """

    customer: int
    people: str
    rule: str
    pick: str
    lost: float
    unsafe: bool
    rungs: int
    no_pick: bool


def choice(customer: int, people: str, rule: str, pick: Tractor | None, instead: Tractor, reality: Years) -> Choice:
    """Return a choice judged by what is really so."""
    bought = pick or instead
    outcome = reality.of(bought)
    above = rung(bought.pto_hp) - rung(reality.needed.pto_hp)
    return Choice(
        customer,
        people,
        rule,
        bought.tractor_id,
        outcome.costs - reality.least,
        outcome.unsafe,
        above,
        pick is None,
    )


@dataclass(frozen=True)
class Tally:
    """How one way of choosing did for one kind of people.

    Attributes
    ----------
    group : all, or asked: those who were asked questions too
    people, rule, customers : which
    lost, error : mean loss over the years, and its standard error
    unsafe, short, large : shares unsafe, more than one size short, more than one size too large
    no_pick : share without a pick
    """

    group: str
    people: str
    rule: str
    customers: int
    lost: float
    error: float
    unsafe: float
    short: float
    large: float
    no_pick: float


def tallies(group: str, choices: Iterable[Choice]) -> list[Tally]:
    """Return how each rule did, in the order in which rules first come."""
    kept = list(choices)
    order = {one: at for at, one in enumerate(dict.fromkeys((each.people, each.rule) for each in kept))}
    kept.sort(key=lambda one: order[one.people, one.rule])
    found = []
    for (people, rule), some in groupby(kept, key=lambda one: (one.people, one.rule)):
        of_rule = list(some)
        lost = [one.lost for one in of_rule]
        error = statistics.stdev(lost) / math.sqrt(len(lost)) if len(lost) > 1 else math.nan
        found.append(
            Tally(
                group,
                people,
                rule,
                len(of_rule),
                statistics.fmean(lost),
                error,
                _share(one.unsafe for one in of_rule),
                _share(one.rungs < -1 for one in of_rule),
                _share(one.rungs > 1 for one in of_rule),
                _share(one.no_pick for one in of_rule),
            )
        )
    return found


def _share(flags: Iterable[bool]) -> float:
    return statistics.fmean(map(float, flags))


@dataclass(frozen=True)
class Decile:
    """Questions whose printed chance lies in one tenth, and how often their answer changed the pick."""

    low: float
    questions: int
    printed: float
    changed: float


def deciles(chances: Sequence[tuple[float, bool]]) -> list[Decile]:
    """Return how true the printed chances are, tenth by tenth; tenths without a question are left out."""
    found = []
    for tenth in range(DECILES):
        some = [one for one in chances if min(DECILES - 1, int(DECILES * one[0])) == tenth]
        if some:
            printed, changed = statistics.fmean(one[0] for one in some), _share(one[1] for one in some)
            found.append(Decile(tenth / DECILES, len(some), printed, changed))
    return found


def percent(share: float) -> str:
    """Return a share as the project prints it."""
    return f"{100 * share:.0f} %"


def table(found: Sequence[Tally], yardstick: str) -> str:
    """Return the tallies of one kind of people as Markdown, each loss also as a share of one rule's."""
    base = next((one.lost for one in found if one.rule == yardstick), math.nan)
    lines = [
        f"| chosen by | lost, mean | +/- | of {yardstick} | unsafe | over one short | over one large | no pick |",
        "|---|---:|---:|---:|---:|---:|---:|---:|",
    ]
    lines += [
        f"| {one.rule} | {one.lost:,.0f} | {one.error:,.0f} | {one.lost / base:.2f} | {percent(one.unsafe)} "
        f"| {percent(one.short)} | {percent(one.large)} | {percent(one.no_pick)} |"
        for one in found
    ]
    return "\n".join(lines)


def decile_table(found: Sequence[Decile]) -> str:
    """Return how true the printed chances are, as Markdown."""
    lines = ["| chance printed | questions | mean printed | answers that changed the pick |", "|---|---:|---:|---:|"]
    lines += [
        f"| {100 * one.low:.0f} to {percent(one.low + 1 / DECILES)} | {one.questions} "
        f"| {percent(one.printed)} | {percent(one.changed)} |"
        for one in found
    ]
    return "\n".join(lines)


def keep(name: str, found: Sequence[Tally] | Sequence[Decile]) -> None:
    """Write what came out beside the world's tables."""
    path = HERE / "results" / f"{name}.csv"
    path.parent.mkdir(exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([one.name for one in fields(found[0])])
        writer.writerows([_cell(value) for value in astuple(one)] for one in found)


def keep_picks(choices: Iterable[Choice]) -> None:
    """Write down picks of some customers, so that a test can see whether they still are the same."""
    rows = dict.fromkeys((one.customer, one.rule, "" if one.no_pick else one.pick) for one in choices)
    path = HERE / "results" / "picks.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["customer", "rule", "pick"])
        writer.writerows(rows)


def kept_picks() -> list[tuple[int, str, str]]:
    """Return the picks that were written down last."""
    return [(int(row["customer"]), row["rule"], row["pick"]) for row in _rows("picks")]


def _cell(value: str | float) -> str:
    return (
        f"{value:.4g}"
        if isinstance(value, float) and abs(value) < 1
        else f"{value:.0f}"
        if isinstance(value, float)
        else str(value)
    )


def kept_tallies() -> list[Tally]:
    """Return the tallies that were written down last."""
    return [
        Tally(row["group"], row["people"], row["rule"], int(row["customers"]), *(float(row[name]) for name in NUMBERS))
        for row in _rows("tallies")
    ]


def kept_deciles() -> list[Decile]:
    """Return the deciles that were written down last."""
    return [
        Decile(float(row["low"]), int(row["questions"]), float(row["printed"]), float(row["changed"]))
        for row in _rows("calibration")
    ]


NUMBERS = ("lost", "error", "unsafe", "short", "large", "no_pick")


def _rows(name: str) -> list[dict[str, str]]:
    with Path(HERE / "results" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
