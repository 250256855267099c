"""The sheet as it would read with each part of each open answer settled."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.schema.records import Choice, JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.core.draws import quantile
from evener.scoring.core.otherwise import planned_for_sure, with_land, with_place, with_task, without_task
from evener.scoring.place.sizes import unit_of
from evener.scoring.questions import parts
from evener.scoring.questions.open_unknowns import PLAN, TAIL, open_unknowns

if TYPE_CHECKING:
    from evener.scoring.core.draws import Mask
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.questions.open_unknowns import OpenUnknown

PLACE = "place"
LAND = "land."
COUNTS = frozenset({"stack_high", "tools"})
HOURS_ONLY = frozenset({"area_ha", "hours_h", "snow_days", "hours_a_day_h"})
FIELDS = {
    None: {one.name for one in fields(Place)},
    "land": {one.name for one in fields(LandUse)},
    "task": {one.name for one in fields(Task)},
}


@dataclass(frozen=True)
class Part:
    """One part of an open answer.

    Attributes
    ----------
    text : the answer in words
    share : chance that it is this
    job : the sheet with this answer in it
    where : draws in which it is so; None where no task rests on it
    ends : where it is a measure, its two ends in words
    """

    text: str
    share: float
    job: JobSheet
    where: Mask | None = field(default=None, compare=False, repr=False)
    ends: tuple[str, str] | None = None


@dataclass(frozen=True)
class OpenAnswer:
    """One thing the customer could still settle.

    Attributes
    ----------
    task : name of the task, or None for the place
    quantity : size, choice or "plan"
    now : what the sheet says, and what stands in for it
    ordered : whether neighbouring parts can be told as one
    said : whether the sheet says something of it
    parts : what the answer may be
    """

    task: str | None
    quantity: str
    now: str
    ordered: bool
    said: bool
    parts: tuple[Part, ...]
    land: str | None = None


def slugs(job: JobSheet) -> dict[str, str]:
    """Return each task's name as it stands in an id: small letters, digits and hyphens, each once."""
    found: dict[str, str] = {}
    for task in job.tasks:
        plain = re.sub(r"[\W_]+", "-", task.name.casefold()).strip("-") or "task"
        taken = {PLACE, *found.values()}
        named = (f"{plain}-{number}" if number > 1 else plain for number in range(1, len(taken) + 2))
        found[task.name] = next(one for one in named if one not in taken)
    return found


def open_answers(sizing: Sizing, units: Units) -> list[OpenAnswer]:
    """Return everything open that a pick can hang on, in the order of `open_unknowns`.

    Parameters
    ----------
    sizing : the job as it stands
    units : units the parts are told in; their bounds are round in the sheet's own
    """
    job = sizing.setting.job
    asked = (_asked(job, one, units) for one in open_unknowns(sizing) if one.asks not in HOURS_ONLY)
    return [one for one in asked if one is not None]


def _asked(job: JobSheet, unknown: OpenUnknown, units: Units) -> OpenAnswer | None:
    """Return what is open as a question; None where no key of the sheet, or no range of answers, is there for it."""
    name = SHEET_NAME.get(unknown.asks, unknown.asks)
    if unknown.asks == PLAN:
        return _of_plan(job, unknown)
    if name not in FIELDS["land" if unknown.land else unknown.task and "task"]:
        return None
    if unknown.words:
        found = [
            Part(word, chance, _with(job, unknown, name, Choice((word,))), _so(unknown, float(at)))
            for at, (word, chance) in enumerate(zip(unknown.words, unknown.chances, strict=True))
        ]
        said = _chosen(job, unknown, name)
        now = " or ".join(unknown.words)
        return OpenAnswer(
            unknown.task,
            unknown.asks,
            now if said else f"not said: {now}",
            ordered=False,
            said=said,
            parts=tuple(found),
            land=unknown.land,
        )
    return _measured(job, unknown, name, units)


def _measured(job: JobSheet, unknown: OpenUnknown, key: str, units: Units) -> OpenAnswer | None:
    """Return a measure of a task, or of the place, split at bounds that are round in the sheet's own units."""
    name, told, low, high = unknown.asks, unknown.told, unknown.low, unknown.high
    if told is not None:
        low, high = quantile(told, TAIL), quantile(told, 1 - TAIL)
    if low is None or high is None or not low < high:
        return None
    unit = unit_of(name)
    shown, own = parts.scale(unit, units, name, high), parts.scale(unit, job.policy.units, name, high)
    cut = parts.counts(low, high, told) if name in COUNTS else parts.spans(low, high, own, told)
    found = tuple(
        Part(
            parts.text(one.low, one.high, shown, (low, high)),
            one.share,
            _with(job, unknown, key, Quantity(one.middle, one.middle, "exact")),
            _within(unknown, one, first=one is cut[0], last=one is cut[-1]),
            parts.ends(one.low, one.high, shown, (low, high)),
        )
        for one in cut
    )
    said = _said(job, unknown, key)
    return OpenAnswer(
        unknown.task,
        name,
        said or f"not said, taken as {_taken(low, high, shown, name)}",
        ordered=True,
        said=bool(said),
        parts=found,
        land=unknown.land,
    )


def _taken(low: float, high: float, shown: parts.Scale, name: str) -> str:
    ends = (float(round(low)), float(round(high))) if name in COUNTS else (low, high)
    return parts.text(*ends, shown, ends)


def _so(unknown: OpenUnknown, at: float) -> Mask | None:
    """Return the draws in which the answer is one of its words."""
    return None if unknown.values is None else np.asarray(unknown.values == at)


def _within(unknown: OpenUnknown, part: parts.Span, *, first: bool, last: bool) -> Mask | None:
    """Return the draws in which a measure lies in a part; the first and last part take what lies beyond them."""
    if unknown.values is None:
        return None
    if part.low == part.high:
        return np.asarray(np.round(unknown.values) == part.low)
    above = np.asarray(first | (unknown.values >= part.low))
    return np.asarray(above & (last | (unknown.values < part.high)))


def _owner(job: JobSheet, unknown: OpenUnknown) -> Any:
    """Return the part of the sheet that says an answer: a task, a use of the land, or the place."""
    if unknown.task is not None:
        return next(one for one in job.tasks if one.name == unknown.task)
    return next((one for one in job.place.land if one.use == unknown.land), job.place)


def _said(job: JobSheet, unknown: OpenUnknown, field: str) -> str:
    given = getattr(_owner(job, unknown), field)
    return given.text if isinstance(given, Quantity) and given.low is not None else ""


def _chosen(job: JobSheet, unknown: OpenUnknown, field: str) -> bool:
    """Return whether the sheet itself leaves the choice open, rather than saying nothing of it."""
    given = getattr(_owner(job, unknown), field)
    return isinstance(given, Choice) and given.text not in {"", "?", "not said"}


def _with(job: JobSheet, unknown: OpenUnknown, field: str, answer: Quantity | Choice) -> JobSheet:
    if unknown.task is not None:
        return with_task(job, unknown.task, **{field: answer})
    if unknown.land is not None:
        return with_land(job, unknown.land, **{field: answer})
    return with_place(job, **{field: answer})


def _of_plan(job: JobSheet, unknown: OpenUnknown) -> OpenAnswer:
    task = next(one for one in job.tasks if one.name == unknown.task)
    comes = Part("yes", unknown.chances[0], planned_for_sure(job, task.name), _so(unknown, 0.0))
    never = Part("no", unknown.chances[1], without_task(job, task.name), _so(unknown, 1.0))
    year = f" for {task.year}" if task.year else ""
    now = f"planned{year}, chance {task.chance * 100:.0f} %"
    return OpenAnswer(task.name, PLAN, now, ordered=False, said=True, parts=(comes, never))
