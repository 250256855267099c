"""Whether the chances that `ask` prints come true: of the questions printed so likely to change the pick, how many do.

Run: python -m experiments.decision_world.calibration [--customers N] [--truths N] [--seed S] [--keep]. Each customer is
asked on the sheet as said, and what is so is drawn several times behind it; each answer by itself is put into the
sheet, and the pick is made anew. Fewer draws than usual are used, the same for the chance and for the pick.
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
from typing import TYPE_CHECKING

import numpy as np

import evener
from evener import AnswerRefused, JobRefused
from evener.scoring.core.draws import Draws
from evener.scoring.decision.contenders import FIRST
from evener.scoring.decision.ladder import same_size
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions.asking import survey
from evener.scoring.questions.choosing import chooser
from experiments.decision_world.customers import Customer
from experiments.decision_world.reckoning import decile_table, deciles, keep
from experiments.decision_world.sheets import answered, as_said
from experiments.decision_world.truths import Truth, others, population

if TYPE_CHECKING:
    from evener.enquiry.enquiry import Enquiry
    from evener.schema.records import Tractor

PROCESSES = 2
DRAWS = 2048
UNLIKELY = 2  # how many questions printed as changing nothing are put to each customer
NAME = "calibration"


@dataclass(frozen=True)
class Put:
    """One question put: by which id, how likely it was to change the pick, and whether it did."""

    question: str
    printed: float
    changed: bool


def put(part: tuple[Customer, Truth], *, path: Path, folder: Path, truths: int, seed: int) -> list[Put]:
    """Return what became of the questions that one customer can answer, under several truths.

    Parameters
    ----------
    part : a customer with what is so
    path, folder : the store, and where sheets may be written
    truths : how often what is so is drawn anew
    seed : of what is so
    """
    customer, _ = part
    sheet = folder / f"{customer.number}.toml"
    sheet.write_text(as_said(customer), encoding="utf-8")
    enquiry = evener.open(path).rank(sheet, top=1).enquiry
    found = survey(enquiry.job, enquiry.library, enquiry.tractors, draws=Draws(DRAWS))
    now = found.chooser.now
    drawn = others(customer, truths, seed + 2)
    can = [one for one in found.questions if answered(customer, drawn[0], one.id) is not None]
    likely = [one for one in can if one.chance > 0]
    unlikely = [one for one in can if one.chance <= 0]
    rng = np.random.default_rng([seed, customer.number])
    rng.shuffle(unlikely)
    return [
        Put(one.id, one.chance, _another(pick, now))
        for one in (*likely, *unlikely[:UNLIKELY])
        for pick in _picks(enquiry, customer, drawn, one.id)
    ]


def _picks(enquiry: Enquiry, customer: Customer, drawn: Sequence[Truth], question: str) -> Iterator[Tractor | None]:
    """Yield the pick with a question answered as each truth has it; an answer that is told twice is worked out once."""
    known: dict[str, Tractor | None] = {}
    for truth in drawn:
        said = answered(customer, truth, question)
        if said is None:
            continue
        if said not in known:
            try:
                known[said] = _pick(enquiry.with_answer(question, said))
            except (AnswerRefused, JobRefused):
                continue
        yield known[said]


def _pick(enquiry: Enquiry) -> Tractor | None:
    sizing = size_job(enquiry.job, enquiry.library, Draws(DRAWS))
    classes = [one for one in enquiry.tractors if one.kind == "class"]
    return chooser(sizing, sizing.score(classes, classes, FIRST), enquiry.tractors).now


def _another(one: Tractor | None, other: Tractor | None) -> bool:
    if one is None or other is None:
        return one is not other
    return one.tractor_id != other.tractor_id and not same_size(one, other)


def run(number: int, truths: int, seed: int) -> list[Put]:
    """Return what became of the questions of some customers.

    Parameters
    ----------
    number, truths, seed : how many customers, how many truths each, and the seed of everything
    """
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(PROCESSES) as pool:
        path = evener.open(Path(folder) / "store.duckdb", build=True).path
        work = partial(put, path=path, folder=Path(folder), truths=truths, seed=seed)
        return [one for each in pool.map(work, population(number, seed), chunksize=2) for one in each]


def by_kind(found: Sequence[Put]) -> str:
    """Return printed and true shares by what is asked, as lines."""
    kinds: dict[str, list[Put]] = {}
    for one in found:
        kinds.setdefault(one.question.rpartition(".")[2], []).append(one)
    lines = []
    for kind, some in sorted(kinds.items()):
        printed, changed = np.mean([one.printed for one in some]), np.mean([one.changed for one in some])
        lines.append(f"{kind:16}{len(some):6}{printed:8.2f}{changed:8.2f}")
    return "\n".join(lines)


def main() -> None:
    """Read the arguments, run and print."""
    parser = argparse.ArgumentParser(prog="python -m experiments.decision_world.calibration", description=__doc__)
    parser.add_argument("--customers", type=int, default=200)
    parser.add_argument("--truths", type=int, default=4)
    parser.add_argument("--seed", type=int, default=2027)
    parser.add_argument("--keep", action="store_true", help="write results/ beside the world's tables")
    given = parser.parse_args()
    found = run(given.customers, given.truths, given.seed)
    true = deciles([(one.printed, one.changed) for one in found])
    if given.keep:
        keep(NAME, true)
    sys.stdout.write(f"{decile_table(true)}\n\n{by_kind(found)}\n")


if __name__ == "__main__":
    main()
