"""What the pick hangs on: the answers that set the size furthest apart, the size by answer; and what to ask first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.results.answer import Worded
from evener.scoring.questions.open_answers import OpenAnswer, open_answers
from evener.scoring.questions.open_capacities import OpenCapacity, open_capacities
from evener.scoring.questions.phrases import phrases
from evener.scoring.questions.question import told

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.combinations.scores import Score
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.questions.bands import Opened
    from evener.scoring.questions.question import Question

HANGS_ON = 2


@dataclass(frozen=True)
class Band:
    """One part of what an answer may be, and the size that is picked then.

    Attributes
    ----------
    answer : the part in words
    when : the same as it stands after "if"
    share : chance that the answer is in it
    tractor_id, pto_power, unit : the size that is picked then; in a band where it goes back and forth, mostly
    or_else : the other picks of such a band
    """

    answer: Worded[str]
    when: Worded[str]
    share: float
    tractor_id: str | None
    pto_power: float | None
    unit: str
    or_else: tuple[str, ...]


@dataclass(frozen=True)
class Hinge:
    """An answer that the pick hangs on.

    Attributes
    ----------
    id, question, how : as `ask` puts it
    task, quantity : what is open; no task where it is the place's, or work that nobody named
    chance : that knowing it changes the pick
    worth_a_year : money that knowing it is expected to save in a year; None where the pick is not by cost
    bands : the size by answer, as `ask` tells it; the smallest first where the answers are words
    """

    id: str
    question: str
    how: str
    task: str | None
    quantity: str
    chance: float
    worth_a_year: float | None
    bands: tuple[Band, ...]


@dataclass(frozen=True)
class Hinges:
    """What a pick hangs on, and the first question that is worth asking, where one is."""

    hangs_on: tuple[Hinge, ...]
    first: Hinge | None


def hinges(sizing: Sizing, found: Sequence[Question], scores: Sequence[Score], classes: Sequence[Tractor]) -> Hinges:
    """Return what a pick hangs on, and what to ask first.

    Parameters
    ----------
    sizing : the job
    found : its questions, in the order in which they are asked
    scores, classes : the tractors the questions are about
    """
    changing = sorted((one for one in found if one.chance > 0), key=lambda one: (not one.worth_asking, -_apart(one)))
    first = next((one for one in found if one.worth_asking), None)
    hanging = changing[:HANGS_ON]
    kept = hanging if first is None or first in hanging else [*hanging, first]
    made = {one.id: _hinge(sizing, one, scores, classes) for one in kept}
    return Hinges(tuple(made[one.id] for one in hanging), None if first is None else made[first.id])


def _apart(one: Question) -> float:
    """Return how many times the smallest size that an answer leads to the largest is."""
    powers = [part.pick.tractor.pto_power_kw or 0.0 for part in one.outcomes if part.pick.tractor]
    return max(powers) / min(powers) if powers and min(powers) > 0 else 1.0


def _hinge(sizing: Sizing, one: Question, scores: Sequence[Score], classes: Sequence[Tractor]) -> Hinge:
    job, library = sizing.setting.job, sizing.setting.library
    us = told(_in_us(sizing, one, scores, classes), one.settled)
    words = (phrases(one, outcomes, job, library) for outcomes in (one.outcomes, us))
    bands = [
        Band(
            answer=Worded(si.answer, other.answer),
            when=Worded(*when),
            share=si.share,
            tractor_id=si.pick.tractor_id,
            pto_power=si.pick.tractor.pto_power_kw if si.pick.tractor else None,
            unit="kW",
            or_else=tuple(each.tractor_id for each in si.or_else if each.tractor_id is not None),
        )
        for si, other, when in zip(one.outcomes, us, zip(*words, strict=True), strict=True)
    ]
    if not one.opened.ordered:
        bands.sort(key=lambda band: band.pto_power or 0.0)
    return Hinge(one.id, one.text, one.how, one.task, one.quantity, one.chance, one.worth, tuple(bands))


def _in_us(sizing: Sizing, one: Question, scores: Sequence[Score], classes: Sequence[Tractor]) -> Opened:
    """Return what is open with its parts told in US units."""
    units: Units = "us"
    opened = one.opened
    if isinstance(opened, OpenAnswer):
        own = (opened.task, opened.quantity, opened.land)
        return next(other for other in open_answers(sizing, units) if (other.task, other.quantity, other.land) == own)
    if isinstance(opened, OpenCapacity):
        of = (opened.tractor.tractor_id, opened.field)
        every = open_capacities(sizing, scores, classes, units)
        return next(other for other in every if (other.tractor.tractor_id, other.field) == of)
    return opened
