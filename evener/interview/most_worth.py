"""The last questions of an interview: what else is worth most to know, of what takes neither tape nor scale."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.ingest.jobsheet.text import write_jobsheet
from evener.interview.prompts import Prompt
from evener.scoring.questions.open_answers import PLACE, slugs

if TYPE_CHECKING:
    from evener.interview.draft import Draft
    from evener.schema.records import JobSheet
    from evener.scoring.questions.question import Question

MOST = 2
AT_ONCE = ("yes or no", "ask", "look", "plate")


@dataclass(frozen=True)
class Worth:
    """What the last questions are put with.

    Attributes
    ----------
    questions : the questions of a sheet, those worth most first
    put : the sheet with one of them answered
    """

    questions: Callable[[JobSheet], tuple[Question, ...]]
    put: Callable[[JobSheet, str, str], JobSheet]


def most_worth(draft: Draft, job: JobSheet, worth: Worth) -> Generator[Prompt, str, JobSheet]:
    """Ask what is worth most of what was not asked before, and return the sheet with it.

    Parameters
    ----------
    draft : what was asked before
    job : the sheet as it stands
    worth : what it is asked with
    """
    asked: set[str] = set()
    for _ in range(MOST):
        left = (one for one in worth.questions(job) if one.worth_asking and one.how in AT_ONCE and one.id not in asked)
        one = next((one for one in left if not _was_asked(draft, job, one.id)), None)
        if one is None:
            return job
        asked.add(one.id)
        said = yield _prompt(job, one, worth)
        if said:
            job = worth.put(job, one.id, said)
            draft.answered = write_jobsheet(job)
    return job


def _prompt(job: JobSheet, one: Question, worth: Worth) -> Prompt:
    now = one.now.removeprefix("not said, ")
    return Prompt(f"{one.text} ({now}; it may change the size)", "", lambda said: worth.put(job, one.id, said))


def _was_asked(draft: Draft, job: JobSheet, question: str) -> bool:
    where, _, key = question.rpartition(".")
    if where == PLACE:
        return key in draft.place
    name = next((name for name, slug in slugs(job).items() if slug == where), None)
    return any(key in one for one in draft.tasks if one["name"] == name)
