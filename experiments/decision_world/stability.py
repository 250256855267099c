"""How much a pick's cost depends on the draws it was made on: the same sheets on other, equally good sets.

Run: python -m experiments.decision_world.stability [--customers N] [--sets N] [--seed S] [--keep].
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import evener
from evener.scoring.core import draws
from experiments.decision_world.by_tool import Adviser
from experiments.decision_world.figures import HERE, tractors
from experiments.decision_world.money import years
from experiments.decision_world.needs import people
from experiments.decision_world.truths import population


@dataclass(frozen=True)
class Stability:
    """How picks fare on other sets of draws.

    Attributes
    ----------
    customers, sets : how many of each
    same : share of customers and sets whose pick is the usual set's
    spread : standard deviation over the sets of the mean cost, as a share of it
    """

    customers: int
    sets: int
    same: float
    spread: float


def stability(number: int, sets: int, seed: int) -> Stability:
    """Return how stable picks are for some customers.

    Parameters
    ----------
    number, sets : how many customers, and sets of draws beside the usual one
    seed : of the customers
    """
    usual = (draws.N, draws.SEED)
    picks: list[list[str]] = []
    costs: list[float] = []
    who = people()[0]
    some = list(population(number, seed))
    with tempfile.TemporaryDirectory() as folder:
        adviser = Adviser(evener.open(Path(folder) / "store.duckdb", build=True), Path(folder))
        for other in range(sets + 1):
            with mock.patch.object(draws.Draws.__init__, "__defaults__", (usual[0], usual[1] + other)):
                picked = [adviser.on_said(customer) or tractors()[-1] for customer, _ in some]
            picks.append([one.tractor_id for one in picked])
            costs.append(
                statistics.fmean(
                    years(customer, truth, who).of(one).costs
                    for (customer, truth), one in zip(some, picked, strict=True)
                )
            )
    same = statistics.fmean(one == first for row in picks[1:] for one, first in zip(row, picks[0], strict=True))
    return Stability(number, sets, same, statistics.pstdev(costs) / statistics.fmean(costs))


def kept() -> Stability:
    """Return what came out when it was last written down."""
    numbers = (HERE / "results" / "stability.csv").read_text(encoding="utf-8").splitlines()[1].split(",")
    return Stability(int(numbers[0]), int(numbers[1]), float(numbers[2]), float(numbers[3]))


def main(given: Sequence[str] | None = None) -> None:
    """Read the arguments, run and print."""
    parser = argparse.ArgumentParser(prog="python -m experiments.decision_world.stability", description=__doc__)
    parser.add_argument("--customers", type=int, default=30)
    parser.add_argument("--sets", type=int, default=20)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--keep", action="store_true", help="write results/stability.csv")
    asked = parser.parse_args(given)
    found = stability(asked.customers, asked.sets, asked.seed)
    text = f"customers,sets,same,spread\n{found.customers},{found.sets},{found.same:.4f},{found.spread:.4f}\n"
    if asked.keep:
        (HERE / "results").mkdir(exist_ok=True)
        (HERE / "results" / "stability.csv").write_text(text, encoding="utf-8")
    sys.stdout.write(text)


if __name__ == "__main__":
    main()
