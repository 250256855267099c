"""An answer as the part of a sentence that stands after "if", such as "stems reach 3 in"; its words: `phrases.csv`."""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from evener.scoring.questions.open_capacities import OpenCapacity
from evener.scoring.questions.open_work import NO, YES, OpenWork
from evener.scoring.questions.reconcile import in_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import JobSheet
    from evener.scoring.core.setting import Library
    from evener.scoring.questions.bands import Outcome
    from evener.scoring.questions.question import Question

TRACTOR = "tractor"


def phrases(question: Question, outcomes: Sequence[Outcome], job: JobSheet, library: Library) -> tuple[str, ...]:
    """Return what has to be so for each outcome.

    Parameters
    ----------
    question : what is open
    outcomes : what its answers lead to, in the units of the reader; those of a measure from the smallest
    job, library : the sheet, and the families its work is named by
    """
    family, machine, land = _about(question, job, library)
    row = _row(question.quantity, family)
    found = []
    for at, one in enumerate(outcomes):
        of_measure = "only" if len(outcomes) == 1 else "further" if at else "first"
        kind = of_measure if question.opened.ordered else "word"
        kind = {YES: "yes", NO: "no"}.get(one.answer, kind)
        low, high = one.ends or (one.answer, one.answer)
        # An empty cell of a row is what the last row, which is of anything, says there.
        phrase = row[kind] or _row("", "")[kind]
        for name, said in {"low": low, "high": high, "answer": one.answer}.items():
            phrase = phrase.replace(f"{{{name}}}", said)
        found.append(phrase.replace("{implement}", machine).replace("{land}", land))
    return tuple(found)


def _about(question: Question, job: JobSheet, library: Library) -> tuple[str, str, str]:
    """Return by what a phrase is looked up, the machine that it speaks of, and the land."""
    opened = question.opened
    if isinstance(opened, OpenCapacity):
        return TRACTOR, "", ""
    if isinstance(opened, OpenWork) and opened.gap is not None:
        return opened.gap.rule["rule"], "", in_words(opened.gap.uses)
    families = {one.name: one.family for one in job.tasks} | {one.name: one.family for one in job.implements}
    family = families.get(question.task or "")
    if family is None:
        return "", "", ""
    return family, library.families[family].label.lower().replace("pto", "PTO"), ""


def _row(quantity: str, family: str) -> dict[str, str]:
    """Return the phrases of what is open: of this family or rule, of any, or of anything."""
    every = _phrases()
    tried = [(quantity, family), ("", family)] if family == TRACTOR else [(quantity, family), (quantity, "")]
    return next((every[key] for key in tried if key in every), every["", ""])


@lru_cache(maxsize=1)
def _phrases() -> dict[tuple[str, str], dict[str, str]]:
    text = resources.files("evener.scoring.questions").joinpath("phrases.csv").read_text(encoding="utf-8")
    return {(row["quantity"], row["family"]): row for row in csv.DictReader(text.splitlines())}
