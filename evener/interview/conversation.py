"""An interview as an object: the question at hand, the answers kept so far, and the job sheet in the end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from evener.ingest.jobsheet.text import write_jobsheet
from evener.interview.prompts import Prompt
from evener.interview.said import SKIP
from evener.interview.script import script

if TYPE_CHECKING:
    from evener.enquiry.holdings import Holdings
    from evener.schema.records import JobSheet


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
    """

    def __init__(self, holdings: Holdings, answers: Sequence[str] = ()) -> None:
        self._holdings = holdings
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

    def _go(self, answers: tuple[str, ...]) -> None:
        self.answers = answers
        self.prompt: Prompt | None = None
        self.job: JobSheet | None = None
        talk = script(self._holdings.words, self._holdings.library)
        try:
            prompt = next(talk)
            for said in answers:
                prompt = talk.send(said)
        except StopIteration as end:
            self.job = end.value
        else:
            self.prompt = prompt
