"""What an answer says about the place as a whole: its land, what may be missing, what is there, what is left open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.results.answer import Worded
from evener.scoring.decision.owned import owned
from evener.scoring.questions.open_unknowns import open_unknowns

if TYPE_CHECKING:
    from evener.schema.records import JobSheet, Tractor
    from evener.scoring.decision.sizing import Sizing


@dataclass(frozen=True)
class LandArea:
    """One use of the land, and its area."""

    use: str
    area: float | None
    unit: str = "ha"


@dataclass(frozen=True)
class Place:
    """The place as the sheet says it.

    Attributes
    ----------
    name : its name
    land : its uses
    total, unit : area of all whose area is known
    slope : lowest and highest slope along the work [1]
    soil : words that the soil may be
    """

    name: str
    land: tuple[LandArea, ...]
    total: float
    unit: str
    slope: tuple[float | None, float | None]
    soil: tuple[str, ...]


@dataclass(frozen=True)
class Gap:
    """Work the place probably needs and no task names.

    Attributes
    ----------
    rule, question : the rule that applies, and how it is asked
    chance, status : how likely there is such work, and where that number comes from
    family : implement it would take
    pick_if_so : the pick with it, where picks were worked out
    """

    rule: str
    question: str
    chance: float
    status: str
    family: str | None
    pick_if_so: str | None


@dataclass(frozen=True)
class Claim:
    """Whether an owned machine takes a task that it is said to take; `why` gives the numbers."""

    machine: str
    task: str
    verdict: str
    why: Worded[str]


@dataclass(frozen=True)
class NotSized:
    """A task that could not be sized, why, and what to write in the sheet."""

    task: str
    why: str
    remedy: str


@dataclass(frozen=True)
class Unsettled:
    """Something the sheet does not settle, with the span or the words that were used instead.

    Attributes
    ----------
    task : name of the task, or "the place"
    size : what is open
    among : the words it may be
    low, high, unit : the span it was taken to lie in
    text : as the sheet has it
    """

    task: str
    size: str
    among: tuple[str, ...]
    low: float | None
    high: float | None
    unit: str
    text: str


def place(job: JobSheet) -> Place:
    """Return the place of a job."""
    land = tuple(LandArea(use.use, use.area_ha.middle) for use in job.place.land)
    total = sum(one.area for one in land if one.area is not None)
    slope = job.place.slope
    return Place(job.place.name, land, total, "ha", (slope.low, slope.high), tuple(job.place.soil.among))


def claims(sizing: Sizing, tractors: Sequence[Tractor]) -> tuple[Claim, ...]:
    """Return what owned machines are said to take, each with its verdict."""
    in_si, in_us = owned(sizing, tractors, "si"), owned(sizing, tractors, "us")
    return tuple(Claim(**{**si, "why": Worded(si["why"], us["why"])}) for si, us in zip(in_si, in_us, strict=True))


def not_sized(sizing: Sizing) -> tuple[NotSized, ...]:
    """Return the tasks that could not be sized."""
    return tuple(NotSized(one.task, one.why, one.remedy) for one in sizing.not_sized)


def gaps(found: Sequence[dict[str, Any]]) -> tuple[Gap, ...]:
    """Return what may be missing."""
    return tuple(Gap(**one) for one in found)


def unsettled(sizing: Sizing) -> tuple[Unsettled, ...]:
    """Return what the sheet did not settle, each once."""
    told = (one.as_dict() for one in open_unknowns(sizing))
    return tuple(Unsettled(**{**one, "among": tuple(one["among"])}) for one in told)
