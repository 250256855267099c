"""Answers given by id, put into the sheet or into a tractor's record for this one run."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from evener.ingest.jobsheet.answers import PLAN, AnswerRefused, answer_place, answer_task, answer_tractor
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.records import JobSheet, Tractor
from evener.scoring.questions.open_answers import PLACE, slugs


@dataclass(frozen=True)
class Answered:
    """A job with answers in it.

    Attributes
    ----------
    job : the sheet with what the customer answered
    tractors : the records with what was looked up about them
    """

    job: JobSheet
    tractors: Sequence[Tractor]


def put_all(given: Iterable[str], job: JobSheet, tractors: Sequence[Tractor], words: Vocabulary) -> Answered:
    """Return the job with every ID=VALUE put in.

    Raises
    ------
    AnswerRefused
        One that is no ID=VALUE, that names nothing of this job, or that cannot be held.
    """
    answered = Answered(job, tractors)
    names = {own: name for name, own in slugs(job).items()}
    for one in given:
        where, equals, said = one.partition("=")
        if not equals or not said.strip():
            raise AnswerRefused(f"{one!r} is no ID=VALUE", "Write an id of evener ask, an equals sign and the answer")
        answered = put(where.strip(), said.strip(), answered, words, names)
    return answered


def put(name: str, said: str, answered: Answered, words: Vocabulary, names: dict[str, str]) -> Answered:
    """Return the job with one answer put in.

    Parameters
    ----------
    name : id of a question: a place's or a task's key, or a tractor's
    said : the answer as typed
    answered : the job so far
    words : the words a sheet may use
    names : the sheet's names of tasks by how they stand in ids

    Raises
    ------
    AnswerRefused
        As `put_all`.
    """
    where, _, key = name.rpartition(".")
    job, tractors = answered.job, answered.tractors
    task = names.get(where.casefold())
    if where.casefold() == PLACE:
        return Answered(answer_place(job, key, said, words), tractors)
    if task is not None and any(one.name == task for one in job.tasks):
        return Answered(answer_task(job, task, key, said, words), tractors)
    tractor = next((one for one in tractors if one.tractor_id == where), None)
    if tractor is not None:
        looked_up = answer_tractor(tractor, key, said, words)
        return Answered(job, [looked_up if one is tractor else one for one in tractors])
    near = get_close_matches(name, [f"{own}.{key or PLAN}" for own in (PLACE, *names)], n=1)
    hint = f"Did you mean {near[0]}?" if near else "Take an id as evener ask prints it"
    raise AnswerRefused(f"there is nothing to answer under {name!r}", hint)
