"""What to ask or measure next: every open answer by how likely it is to change the pick, with the pick by answer."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.enquiry.filters import passes
from evener.enquiry.of_sheet import of_sheet
from evener.enquiry.refused import Refused
from evener.results.answer import KEPT, Answer, contract
from evener.results.place import Gap, NotSized, gaps
from evener.scoring.questions import asking

if TYPE_CHECKING:
    from evener.enquiry.enquiry import Enquiry
    from evener.scoring.core.printing import Units


@dataclass(frozen=True)
class Pick:
    """The tractor that comes first and meets the work, or None, with its power at the PTO."""

    pick: str | None
    label: str | None
    pto_power: float | None
    unit: str


@dataclass(frozen=True)
class AnswerPick:
    """The pick for one part of what an answer may be, and the share of that part; `or_else` where it flips."""

    answer: str
    share: float
    pick: str | None
    label: str | None
    pto_power: float | None
    unit: str
    or_else: tuple[str, ...]


@dataclass(frozen=True)
class Question:
    """One question.

    Attributes
    ----------
    id : what `with_answer` takes
    question, how : as it is put to the customer, and what it takes to answer
    now : what the sheet says, or what stands in for it
    said : whether the sheet says something of it
    chance_changes_pick : how likely knowing it changes the pick
    worth_a_year : money that knowing it is expected to save in a year; None where no money is reckoned
    worth_asking : whether it can change the pick and is worth the trouble
    picks : the pick by answer
    """

    id: str
    question: str
    how: str
    now: str
    said: bool
    chance_changes_pick: float
    worth_a_year: float | None
    worth_asking: bool
    picks: tuple[AnswerPick, ...]


@dataclass(frozen=True)
class Uncertain:
    """What nobody can answer although tasks rest on it.

    Attributes
    ----------
    what : the figure
    why : why nobody can answer it
    tasks : names of the tasks that rest on it
    source, status : of the figure
    """

    what: str
    why: str
    tasks: tuple[str, ...]
    source: str
    status: str


@dataclass(frozen=True)
class Stability:
    """How the questions fare on other sets of draws.

    Attributes
    ----------
    seeds : how many other sets
    pick_same, first_same : how often a pick of the same size, and the same first question, come out
    chances : by question, the lowest and highest chance that it changes the pick
    """

    seeds: int
    pick_same: int
    first_same: int
    chances: dict[str, tuple[float, float]]


@dataclass(frozen=True)
class Survey(Answer):
    """Everything worth asking about one job, in the units it was asked for.

    Attributes
    ----------
    place : name of the place
    pick : id of the pick; None where nothing meets the work, or a task was not sized
    so_far : the pick without what could not be sized
    not_sized : tasks that could not be sized
    questions : the likeliest to change the pick first
    reconcile : what the place probably needs and no task names
    stays_uncertain : what nobody can answer
    stability : how stable this is on other draws, where that was asked
    units : the units of every number and word in it
    """

    place: str
    pick: str | None
    so_far: Pick
    not_sized: tuple[NotSized, ...]
    questions: tuple[Question, ...]
    reconcile: tuple[Gap, ...]
    stays_uncertain: tuple[Uncertain, ...]
    stability: Stability | None
    units: Units = field(repr=False, compare=False, metadata=KEPT)
    enquiry: Enquiry = field(repr=False, compare=False, metadata=KEPT)

    def to_dict(self, units: Units | None = None) -> dict[str, Any]:
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : "si" or "us"; those it was asked for when left out, and for others it is asked again
        """
        turned = self.in_units(units or self.units)
        return {"schema": asking.SCHEMA, **contract(turned, turned.units)}

    def in_units(self, units: Units) -> Survey:
        """Return the survey in these units: this one, or one that is asked anew."""
        if units == self.units:
            return self
        return ask(self.enquiry, units=units, seeds=self.stability.seeds if self.stability else 0)

    def rows(self, units: Units | None = None) -> list[dict[str, Any]]:
        """Return one row per question and answer.

        Parameters
        ----------
        units : as `to_dict`
        """
        return [
            {name: one[name] for name in ("id", "question", "how", "now", "chance_changes_pick", "worth_a_year")} | part
            for one in self.to_dict(units)["questions"]
            for part in one["picks"]
        ]

    def with_answer(self, question: str, said: str) -> Survey:
        """Return what is to be asked once one question is answered; this survey stays as it is.

        Parameters
        ----------
        question : id of a question
        said : the answer as people write it

        Raises
        ------
        evener.AnswerRefused
            It names nothing of this job, or cannot be held.
        """
        return ask(self.enquiry.with_answer(question, said), units=self.units)


def _answer_pick(part: dict[str, Any]) -> AnswerPick:
    return AnswerPick(**{**part, "or_else": tuple(part["or_else"])})


def ask(enquiry: Enquiry, *, units: Units | None = None, seeds: int = 0) -> Survey:
    """Say what to ask or measure next, and what each answer would change.

    Parameters
    ----------
    enquiry : the job, the records, and the kinds to pick among
    units : units of every number and word; the sheet's own when left out
    seeds : on how many other sets of draws to do it again, to say how stable it is

    Raises
    ------
    evener.Refused
        There is no tractor record to pick among.
    """
    if not any(one.kind in enquiry.among for one in enquiry.tractors):
        kinds = " or ".join(enquiry.among)
        raise Refused(f"no record of kind {kinds} is in the store. See: evener list tractors")
    shown = units or enquiry.job.policy.units
    own = of_sheet(enquiry.job, enquiry.library, [one for one in enquiry.tractors if one.kind in enquiry.among])
    found = asking.ask(
        enquiry.job,
        enquiry.library,
        enquiry.tractors,
        among=enquiry.among,
        units=shown,
        seeds=seeds,
        passes=(lambda one: passes(own, one)) if own else None,
    )
    questions = (Question(**{**one, "picks": tuple(map(_answer_pick, one["picks"]))}) for one in found["questions"])
    stability = found["stability"]
    if stability is not None:
        chances = {name: (low, high) for name, (low, high) in stability["chances"].items()}
        stability = Stability(**{**stability, "chances": chances})
    return Survey(
        place=found["place"],
        pick=found["pick"],
        so_far=Pick(**found["so_far"]),
        not_sized=tuple(NotSized(**one) for one in found["not_sized"]),
        questions=tuple(questions),
        reconcile=gaps(found["reconcile"]),
        stays_uncertain=tuple(Uncertain(**{**one, "tasks": tuple(one["tasks"])}) for one in found["stays_uncertain"]),
        stability=stability,
        units=shown,
        enquiry=enquiry,
    )
