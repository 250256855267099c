"""How this tool chooses in the world, through its front door: on the sheet as said, after questions, with all told."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from evener import AnswerRefused, JobRefused, Refused
from experiments.decision_world.figures import Tractor, tractors
from experiments.decision_world.sheets import answered, as_said, as_told

if TYPE_CHECKING:
    from evener import Store
    from evener.results.survey import Survey
    from experiments.decision_world.customers import Customer
    from experiments.decision_world.truths import Truth

QUESTIONS = (1, 3, 5)
OTHER_RULE = "sure"


def tractor(tractor_id: str | None) -> Tractor | None:
    """Return the class of an id, or None."""
    return next((one for one in tractors() if one.tractor_id == tractor_id), None)


class Adviser:
    """Someone who sizes by this tool.

    Parameters
    ----------
    store : the library's store
    folder : where sheets may be written
    """

    def __init__(self, store: Store, folder: Path) -> None:
        self.store = store
        self.folder = folder

    def on_said(self, customer: Customer, rule: str = "") -> Tractor | None:
        """Return the pick on the sheet as said, by the usual rule, which is cost, or another."""
        policy = f'rule = "{rule}"' if rule else ""
        return self._picked(self._written(f"{customer.number}-said", as_said(customer, policy)), rule)

    def on_told(self, customer: Customer, truth: Truth, rule: str = "") -> Tractor | None:
        """Return the pick once everything is told."""
        policy = f'rule = "{rule}"' if rule else ""
        return self._picked(self._written(f"{customer.number}-told", as_told(customer, truth, policy)), rule)

    def asking(self, customer: Customer, truth: Truth, seed: int) -> Iterator[tuple[str, Tractor | None]]:
        """Yield the picks after some questions of the tool, and after as many of its questions in random order."""
        first = self.store.ask(self._written(f"{customer.number}-said", as_said(customer)))
        rng = np.random.default_rng([seed, customer.number])
        for order in ("asked", "random"):
            survey, put = first, set[str]()
            for number in range(1, max(QUESTIONS) + 1):
                survey = self._next(survey, customer, truth, put, rng if order == "random" else None) or survey
                if number in QUESTIONS:
                    yield f"{number} {order}", tractor(survey.so_far.pick)

    def _next(
        self, survey: Survey, customer: Customer, truth: Truth, put: set[str], rng: np.random.Generator | None
    ) -> Survey | None:
        """Return the survey after the next question that the customer can answer, or None where none is left."""
        left = [one.id for one in survey.questions if one.id not in put]
        if rng is not None:
            rng.shuffle(left)
        for question in left:
            put.add(question)
            said = answered(customer, truth, question)
            if said is not None:
                try:
                    return survey.with_answer(question, said)
                except (AnswerRefused, JobRefused):
                    continue
        return None

    def _picked(self, sheet: Path, rule: str) -> Tractor | None:
        """Return the pick; by the usual rule it is the one that `cost` takes, which says no more and is sooner done."""
        try:
            picked = self.store.rank(sheet, top=1).pick if rule else self.store.cost(sheet).tractor.tractor_id
        except (JobRefused, Refused):
            return None
        return tractor(picked)

    def _written(self, name: str, text: str) -> Path:
        path = self.folder / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return path
