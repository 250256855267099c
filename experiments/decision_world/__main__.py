"""Try ways of choosing a tractor on invented customers.

Run: python -m experiments.decision_world [--customers N] [--asked N] [--seed S] [--keep].
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import evener
from experiments.decision_world import rules_of_thumb
from experiments.decision_world.bound import BOUND, best_on
from experiments.decision_world.by_tool import OTHER_RULE, Adviser
from experiments.decision_world.customers import Customer
from experiments.decision_world.figures import Tractor
from experiments.decision_world.money import years
from experiments.decision_world.needs import people
from experiments.decision_world.reckoning import Choice, choice, keep, keep_picks, table, tallies
from experiments.decision_world.truths import Truth, others, population

PROCESSES = 2
SEED = 6071
DRAWN = 64
KEPT = 8
USUAL = "rank"
TOLD = "rank, all told"


@dataclass(frozen=True)
class Trial:
    """One customer's choices.

    Attributes
    ----------
    choices : by every way of choosing
    asked : whether it was asked questions too
    """

    choices: tuple[Choice, ...]
    asked: bool


def trial(part: tuple[Customer, Truth], *, path: Path, folder: Path, asked: int, seed: int) -> Trial:
    """Choose for one customer in every way, and see what comes of each.

    Parameters
    ----------
    part : a customer with what is so
    path, folder : the store, and where sheets may be written
    asked : how many customers, the first ones, are asked questions too
    seed : of random questions and of the draws of those who know the world
    """
    customer, truth = part
    adviser = Adviser(evener.open(path), folder)
    drawn, is_asked = others(customer, DRAWN, seed + 1), customer.number < asked
    by_tool = dict(_by_tool(adviser, customer, truth, asked=is_asked, seed=seed))
    made = []
    for who in people():
        reality = years(customer, truth, who)
        known = rules_of_thumb.picks(customer, drawn, who)
        picks: dict[str, Tractor | None] = {**known, **by_tool, BOUND: best_on(customer, drawn, who)}
        instead = known[rules_of_thumb.RATING_MORE]
        made += [choice(customer.number, who.kind, rule, pick, instead, reality) for rule, pick in picks.items()]
    return Trial(tuple(made), is_asked)


def _by_tool(
    adviser: Adviser, customer: Customer, truth: Truth, *, asked: bool, seed: int
) -> Iterator[tuple[str, Tractor | None]]:
    yield USUAL, adviser.on_said(customer)
    yield f"{USUAL}, rule {OTHER_RULE}", adviser.on_said(customer, OTHER_RULE)
    yield TOLD, adviser.on_told(customer, truth)
    yield f"{USUAL}, rule {OTHER_RULE}, all told", adviser.on_told(customer, truth, OTHER_RULE)
    if asked:
        for which, pick in adviser.asking(customer, truth, seed):
            yield f"{USUAL}, {which}", pick


def run(number: int, asked: int, seed: int) -> list[Trial]:
    """Return the trials of some customers.

    Parameters
    ----------
    number, asked : how many, and how many of them are asked questions too
    seed : of everything
    """
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(PROCESSES) as pool:
        path = evener.open(Path(folder) / "store.duckdb", build=True).path
        work = partial(trial, path=path, folder=Path(folder), asked=asked, seed=seed)
        return list(pool.map(work, population(number, seed), chunksize=2))


def report(trials: Sequence[Trial], *, keeps: bool) -> str:
    """Return the tables of some trials; with `keeps` they are written down too."""
    everyone = tallies("all", (one for each in trials for one in each.choices if not _of_questions(one.rule)))
    asked = tallies("asked", (one for each in trials if each.asked for one in each.choices))
    if keeps:
        keep("tallies", [*everyone, *asked])
        keep_picks(one for each in trials[:KEPT] for one in each.choices if one.rule in (USUAL, TOLD))
    parts = []
    for group, found in (("all customers", everyone), ("customers asked", asked)):
        for who in people():
            some = [one for one in found if one.people == who.kind]
            if some:
                parts.append(f"People {who.kind}, {group} ({some[0].customers})\n\n{table(some, YARDSTICK)}\n")
    return "\n".join(parts) + "\n"


YARDSTICK = rules_of_thumb.RATING_MORE


def _of_questions(rule: str) -> bool:
    return rule.endswith((" asked", " random"))


def main() -> None:
    """Read the arguments, run and print."""
    parser = argparse.ArgumentParser(prog="python -m experiments.decision_world", description=__doc__)
    parser.add_argument("--customers", type=int, default=150)
    parser.add_argument("--asked", type=int, default=40)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--keep", action="store_true", help="write results/ beside the world's tables")
    given = parser.parse_args()
    sys.stdout.write(report(run(given.customers, given.asked, given.seed), keeps=given.keep))


if __name__ == "__main__":
    main()
