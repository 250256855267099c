"""Where the loss of the tool's picks comes from: what kept the best class from being picked.

Run: python -m experiments.decision_world.losses [--customers N] [--seed S] [--keep].
"""

from __future__ import annotations

import argparse
import csv
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING

import evener
from experiments.decision_world.figures import HERE, Tractor, tractors
from experiments.decision_world.money import years
from experiments.decision_world.needs import People, done, people
from experiments.decision_world.sheets import as_said, as_told
from experiments.decision_world.truths import population

if TYPE_CHECKING:
    from evener.ranking.ranking import Ranking
    from experiments.decision_world.customers import Customer
    from experiments.decision_world.truths import Truth

SEED = 6071
KEPT = HERE / "results" / "losses.csv"
SMALL = 500.0
TWO_WHEELS = "too much: two driven wheels are not offered there"
COSTS_MORE = "too much: the best class does all, and costs more by this tool's money"
NOT_NAMED = "too little: work that nobody named"
PLANNED = "too little: a plan that came"
OF_TODAY = "too little: {family} of today"
TOO_MUCH = "too much: {axis} of {family}"


@dataclass(frozen=True)
class Loss:
    """One cause of loss.

    Attributes
    ----------
    telling, people, cause : said or told, to whom, and what it was
    customers : share of customers it cost more than a little
    share : of the whole loss
    """

    telling: str
    people: str
    cause: str
    customers: float
    share: float


def losses(number: int, seed: int) -> list[Loss]:
    """Return what the loss is made of, the dearest cause first.

    Parameters
    ----------
    number, seed : of customers
    """
    lost: dict[tuple[str, str], dict[str, list[float]]] = {}
    with tempfile.TemporaryDirectory() as folder:
        store, sheet = evener.open(Path(folder) / "store.duckdb", build=True), Path(folder) / "sheet.toml"
        for customer, truth in population(number, seed):
            for telling, text in (("said", as_said(customer)), ("told", as_told(customer, truth))):
                sheet.write_text(text, encoding="utf-8")
                ranking = store.rank(sheet, top=len(tractors()))
                for who in people():
                    by_cause = lost.setdefault((telling, who.kind), {})
                    for cause, amount in _causes(ranking, customer, truth, who):
                        by_cause.setdefault(cause, []).append(amount)
    found = []
    for (telling, kind), by_cause in lost.items():
        whole = sum(map(sum, by_cause.values()))
        some = [
            Loss(telling, kind, cause, sum(one > SMALL for one in each) / number, sum(each) / whole)
            for cause, each in by_cause.items()
        ]
        found += sorted(some, key=lambda one: -one.share)
    return found


def _causes(ranking: Ranking, customer: Customer, truth: Truth, who: People) -> Iterator[tuple[str, float]]:
    """Yield what a pick lost, by cause; in equal parts where several tasks speak against the best class."""
    reality = years(customer, truth, who)
    pick = next(one for one in tractors() if one.tractor_id == ranking.pick)
    best = min(tractors(), key=lambda one: reality.of(one).costs)
    amount = reality.of(pick).costs - reality.least
    if amount <= 0:
        return
    if pick.pto_hp < best.pto_hp:
        causes = _too_little(pick, customer, truth, who)
    else:
        causes = _too_much(ranking, best, {job.name: job.machine.family for job in customer.jobs})
    for cause in causes:
        yield cause, amount / len(causes)


def _too_little(pick: Tractor, customer: Customer, truth: Truth, who: People) -> list[str]:
    undone = [job for job in customer.jobs if truth.jobs[job.name].comes and not done(pick, job, truth, who).does]
    found = [
        NOT_NAMED
        if not job.named
        else PLANNED
        if job.chance < 1
        else OF_TODAY.format(family=_words(job.machine.family))
        for job in undone
    ]
    return found or [COSTS_MORE]


def _too_much(ranking: Ranking, best: Tractor, family: dict[str, str]) -> list[str]:
    row = next(one for one in ranking.tractors if one.tractor_id == best.tractor_id)
    short = [
        TOO_MUCH.format(axis=_words(axis.axis), family=_words(family[task.task]))
        for task in row.tasks
        for axis in task.axes
        if axis.margin is not None and axis.margin < 0 and task.task in family
    ]
    return short or [TWO_WHEELS if best.drive == "2wd" else COSTS_MORE]


def _words(name: str) -> str:
    return name.replace("_", " ")


def kept() -> list[Loss]:
    """Return what came out when it was last written down."""
    with KEPT.open(encoding="utf-8", newline="") as file:
        return [
            Loss(row["telling"], row["people"], row["cause"], float(row["customers"]), float(row["share"]))
            for row in csv.DictReader(file)
        ]


def main(given: Sequence[str] | None = None) -> None:
    """Read the arguments, run and print."""
    parser = argparse.ArgumentParser(prog="python -m experiments.decision_world.losses", description=__doc__)
    parser.add_argument("--customers", type=int, default=60)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--keep", action="store_true", help="write results/losses.csv")
    asked = parser.parse_args(given)
    found = losses(asked.customers, asked.seed)
    if asked.keep:
        with KEPT.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow([one.name for one in fields(Loss)])
            writer.writerows((*astuple(one)[:3], f"{one.customers:.4f}", f"{one.share:.4f}") for one in found)
    for one in found:
        sys.stdout.write(
            f"{one.telling} {one.people} {100 * one.share:5.1f} %  {100 * one.customers:4.0f} %  {one.cause}\n"
        )


if __name__ == "__main__":
    main()
