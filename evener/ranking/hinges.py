"""The answers a pick by cost hangs on, with the size by answer and what knowing it is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.results.answer import Worded
from evener.scoring.questions.open_answers import open_answers
from evener.scoring.questions.question import asked

if TYPE_CHECKING:
    from evener.scoring.decision.contenders import Pick
    from evener.scoring.questions.choosing import ByCost
    from evener.scoring.questions.question import Question


@dataclass(frozen=True)
class Band:
    """One part of what an answer may be, and the size that is picked then."""

    answer: Worded[str]
    share: float
    tractor_id: str | None
    pto_power: float | None
    unit: str


@dataclass(frozen=True)
class Hinge:
    """An answer that the pick hangs on.

    Attributes
    ----------
    id, question, how : as `ask` puts it
    task, quantity : what is open; no task where it is the place's
    chance : that knowing it changes the pick
    worth_a_year : money that knowing it is expected to save in a year
    bands : the size by answer, neighbours with one size together
    """

    id: str
    question: str
    how: str
    task: str | None
    quantity: str
    chance: float
    worth_a_year: float
    bands: tuple[Band, ...]


def hinges(picks: ByCost) -> list[Hinge]:
    """Return every open answer that is worth knowing, worth most first."""
    sizing = picks.cheapest.decision.sizing
    si, us = (open_answers(sizing, units) for units in ("si", "us"))
    found = []
    for one, other in zip(si, us, strict=True):
        question = asked(sizing, picks, one)
        words = [Worded(part.text, same.text) for part, same in zip(one.parts, other.parts, strict=True)]
        settled = picks.answer(one)
        bands = [(text, part.share, pick) for text, part, pick in zip(words, one.parts, settled.picks, strict=True)]
        found.append(_hinge(question, bands, ordered=one.ordered))
    return sorted(found, key=lambda one: (-one.worth_a_year, -one.chance))


def _hinge(question: Question, parts: Sequence[tuple[Worded[str], float, Pick]], *, ordered: bool) -> Hinge:
    bands: list[Band] = []
    for text, share, pick in parts:
        power = pick.tractor.pto_power_kw if pick.tractor else None
        if ordered and bands and bands[-1].tractor_id == pick.tractor_id:
            last = bands[-1]
            joined = Worded(_from_to(last.answer.si, text.si), _from_to(last.answer.us, text.us))
            bands[-1] = Band(joined, min(1.0, last.share + share), pick.tractor_id, power, "kW")
        else:
            bands.append(Band(text, share, pick.tractor_id, power, "kW"))
    return Hinge(
        id=question.id,
        question=question.text,
        how=question.how,
        task=question.task,
        quantity=question.quantity,
        chance=question.chance,
        worth_a_year=question.worth or 0.0,
        bands=tuple(bands),
    )


def _from_to(first: str, last: str) -> str:
    return f"{first.split(' to ', 1)[0]} to {last.rsplit(' to ', 1)[-1]}"
