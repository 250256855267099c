"""One customer's enquiry: a job, the records it is held against, and the kinds to pick among; with answers put in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from evener.enquiry.refused import NoSuchTractor
from evener.enquiry.stored import some
from evener.ingest.jobsheet.answers import (
    NO,
    PLAN,
    YES,
    AnswerRefused,
    answer_land,
    answer_machine,
    answer_place,
    answer_task,
    answer_tractor,
)
from evener.schema import identity
from evener.scoring.questions.open_answers import LAND, MACHINE, PLACE, machine_slugs, slugs
from evener.scoring.questions.open_work import done_by_others, listed_here
from evener.scoring.questions.reconcile import gaps

if TYPE_CHECKING:
    from evener.enquiry.holdings import Holdings
    from evener.schema.records import JobSheet, Tractor, TractorKind
    from evener.scoring.core.setting import Library
    from evener.scoring.questions.reconcile import Gap


@dataclass(frozen=True)
class Enquiry:
    """A job against the records of a store.

    Attributes
    ----------
    job : the sheet, with what the customer has answered since
    holdings : the records and tables, with what was looked up since
    among : kinds of tractor record to pick among
    """

    job: JobSheet
    holdings: Holdings
    among: tuple[TractorKind, ...] = ("class",)

    @property
    def library(self) -> Library:
        """Implements, families, fitted ratings and published tables."""
        return self.holdings.library

    @property
    def tractors(self) -> Sequence[Tractor]:
        """Tractor records of every kind."""
        return self.holdings.tractors

    @property
    def concerned(self) -> tuple[Tractor, ...]:
        """Tractor records that a ranking takes: classes, the kinds to pick among, and those that are there."""
        there = {one.tractor_id for one in self.job.machines if one.tractor_id}
        return some(self.tractors, {"class", *self.among}, there)

    def tractor(self, tractor_id: str) -> Tractor:
        """Return a tractor record by its id, or by one it had before.

        Raises
        ------
        evener.NoSuchTractor
            There is no such record; the nearest ids are in the text.
        """
        return tractor_of(tractor_id, self.tractors, self.holdings.aliases)

    def with_answer(self, question: str, said: str) -> Enquiry:
        """Return the enquiry with one question answered; this one stays as it is.

        Parameters
        ----------
        question : id of a question: a place's or a task's key, or a tractor's, such as "top-the-pasture.stems"
        said : the answer as people write it, such as "2 in"

        Raises
        ------
        AnswerRefused
            It names nothing of this job, or cannot be held.
        """
        return self._put(question, said, slugs(self.job))

    def with_answers(self, given: Iterable[str]) -> Enquiry:
        """Return the enquiry with every ID=VALUE put in.

        Raises
        ------
        AnswerRefused
            One that is no ID=VALUE, that names nothing of this job, or that cannot be held.
        """
        answered, names = self, slugs(self.job)
        for one in given:
            question, equals, said = one.partition("=")
            if not equals or not said.strip():
                raise AnswerRefused(
                    f"{one!r} is no ID=VALUE", "Write an id of evener ask, an equals sign and the answer"
                )
            answered = answered._put(question.strip(), said.strip(), names)
        return answered

    def _put(self, question: str, said: str, slug_of: Mapping[str, str]) -> Enquiry:
        where, _, key = question.rpartition(".")
        names, words = {own: name for name, own in slug_of.items()}, self.holdings.words
        gap = self._gap(key) if where.casefold() == PLACE else None
        if gap is not None:
            return replace(self, job=answer_gap(self.job, gap, said))
        use = next((one.use for one in self.job.place.land if f"{LAND}{one.use}" == where.casefold()), None)
        if use is not None:
            return replace(self, job=answer_land(self.job, use, key, said, words))
        if where.casefold() == PLACE:
            return replace(self, job=answer_place(self.job, key, said, words))
        machines = {f"{MACHINE}{own}": name for name, own in machine_slugs(self.job).items()}
        if where.casefold() in machines:
            return replace(self, job=answer_machine(self.job, machines[where.casefold()], key, said, words))
        task = names.get(where.casefold())
        if task is not None and any(one.name == task for one in self.job.tasks):
            return replace(self, job=answer_task(self.job, task, key, said, words))
        meant = identity.found(where, {one.tractor_id: one.owner for one in self.tractors}, self.holdings.aliases)
        tractor = next((one for one in self.tractors if one.tractor_id == meant), None)
        if tractor is not None:
            looked_up = answer_tractor(tractor, key, said, words)
            tractors = tuple(looked_up if one is tractor else one for one in self.tractors)
            return replace(self, holdings=replace(self.holdings, tractors=tractors))
        near = get_close_matches(question, [f"{own}.{key or PLAN}" for own in (PLACE, *names, *machines)], n=1)
        hint = f"Did you mean {near[0]}?" if near else "Take an id as evener ask prints it"
        raise AnswerRefused(f"there is nothing to answer under {question!r}", hint)

    def _gap(self, key: str) -> Gap | None:
        """Return the work that nobody named under this rule, where there may be such work."""
        return next((one for one in gaps(self.job, self.library) if one.rule["rule"] == key.replace(" ", "_")), None)


def answer_gap(job: JobSheet, gap: Gap, said: str) -> JobSheet:
    """Return the sheet with work that nobody named listed on a yes, and said to be somebody else's on a no.

    Raises
    ------
    AnswerRefused
        It is neither, or it is work that names no machine.
    """
    word = said.strip().casefold()
    if word in NO:
        return done_by_others(job, gap)
    if word not in YES:
        raise AnswerRefused(f"{said!r} is neither yes nor no", "Write yes if this tractor does it, no if another does")
    if not gap.rule["family"]:
        raise AnswerRefused("no machine is named for it", "Write it as a [[task]] in the sheet")
    return listed_here(job, gap)


def tractor_of(tractor_id: str, tractors: Iterable[Tractor], aliases: Mapping[str, str]) -> Tractor:
    """Return a tractor record by its id, or by one it had before.

    Parameters
    ----------
    tractor_id : the id
    tractors : the records
    aliases : the owner that each further name means

    Raises
    ------
    evener.NoSuchTractor
        There is no such record; the nearest ids are in the text.
    """
    known = {one.tractor_id: one for one in tractors}
    meant = identity.found(tractor_id, {name: one.owner for name, one in known.items()}, aliases)
    if meant not in known:
        near = get_close_matches(tractor_id, list(known), n=3)
        hint = f" Did you mean {' or '.join(near)}?" if near else ""
        raise NoSuchTractor(f"there is no tractor {tractor_id!r} in the store.{hint} See: evener list tractors")
    return known[meant]
