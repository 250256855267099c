"""An interview as an object: the question at hand, the answers kept so far, and the job sheet in the end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from evener.enquiry.enquiry import Enquiry
from evener.enquiry.filters import passes
from evener.enquiry.of_sheet import of_sheet
from evener.enquiry.widths import with_widths
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.text import write_jobsheet
from evener.interview.draft import Draft
from evener.interview.most_worth import Worth
from evener.interview.prompts import Prompt
from evener.interview.said import SKIP
from evener.interview.script import Held, script
from evener.scoring.core.draws import Draws
from evener.scoring.decision.contenders import FIRST
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions.asking import survey
from evener.scoring.questions.choosing import chooser

if TYPE_CHECKING:
    from evener.enquiry.holdings import Holdings
    from evener.schema.records import JobSheet, Tractor
    from evener.scoring.questions.question import Question

ROUGHLY, NEARLY = 256, 1024  # draws


class Interview:
    """A conversation that ends in a job sheet.

    Parameters
    ----------
    holdings : the words, families and priors it asks with
    answers : answers kept from an earlier interview, to go on from

    Attributes
    ----------
    answers : what was answered so far
    prompt : the question at hand, or None when there is none left
    job : the job sheet once nothing is left to ask, else None
    draft : what was said so far
    """

    def __init__(self, holdings: Holdings, answers: Sequence[str] = ()) -> None:
        self._holdings = holdings
        self._sizes: dict[str, Tractor | None] = {}
        self._surveys: dict[str, tuple[Question, ...]] = {}
        self._go(tuple(answers))

    def answer(self, said: str) -> None:
        """Answer the question at hand.

        Parameters
        ----------
        said : as people write it; "" takes what the prompt names as usual, "?" is "don't know"

        Raises
        ------
        evener.AnswerRefused
            It cannot be held; the question stands as it was.
        ValueError
            Nothing is left to ask.
        """
        if self.prompt is None:
            raise ValueError("nothing is left to ask")
        self._go((*self.answers, self.prompt.heard(said or SKIP)))

    def back(self) -> None:
        """Take the last answer back."""
        self._go(self.answers[:-1])

    def sheet(self) -> str:
        """Return the job sheet as TOML.

        Raises
        ------
        ValueError
            Something is left to ask.
        """
        if self.job is None:
            raise ValueError("the interview is not at its end")
        return write_jobsheet(self.job)

    def running_size(self) -> Tractor | None:
        """Return the class that would be picked on what was said so far, roughly; None where no work is named yet."""
        text = self.draft.text()
        if text not in self._sizes:
            self._sizes[text] = _size(self._holdings, text)
        return self._sizes[text]

    def _questions(self, job: JobSheet) -> tuple[Question, ...]:
        """Return the questions of a sheet, worked out once for all answers that are gone through again."""
        text = write_jobsheet(job)
        if text not in self._surveys:
            held, own = self._holdings, of_sheet(job, self._holdings.library, _classes(self._holdings))
            found = survey(
                with_widths(Enquiry(job, held, ("class",)))[0].job,
                held.library,
                held.tractors,
                units=job.policy.units,
                draws=Draws(NEARLY),
                passes=lambda one: passes(own, one),
            )
            self._surveys[text] = found.questions
        return self._surveys[text]

    def _put(self, job: JobSheet, question: str, said: str) -> JobSheet:
        return Enquiry(job, self._holdings, ("class",)).with_answer(question, said).job

    def _go(self, answers: tuple[str, ...]) -> None:
        self.answers = answers
        self.prompt: Prompt | None = None
        self.job: JobSheet | None = None
        self.draft = Draft()
        worth = Worth(self._questions, self._put)
        talk = script(self.draft, Held(self._holdings.words, self._holdings.library, worth))
        try:
            prompt = next(talk)
            for said in answers:
                prompt = talk.send(said)
        except StopIteration as end:
            self.job = end.value
        else:
            self.prompt = prompt


def _classes(holdings: Holdings) -> list[Tractor]:
    return [one for one in holdings.tractors if one.kind == "class"]


def _size(holdings: Holdings, text: str) -> Tractor | None:
    job, _ = read_jobsheet_text(text, holdings.words)
    if job is None:
        return None
    job = with_widths(Enquiry(job, holdings, ("class",)))[0].job
    classes = _classes(holdings)
    sizing = size_job(job, holdings.library, Draws(ROUGHLY))
    own = of_sheet(job, holdings.library, classes)
    scores = sizing.score([one for one in classes if passes(own, one)], classes, FIRST)
    return chooser(sizing, scores, holdings.tractors).now
