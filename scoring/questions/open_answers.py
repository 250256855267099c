"""What a job sheet leaves open, and the sheet as it would read with each part of each answer settled.

Open are a range, an "about", a "?", a size nobody said and that a prior, the library's records or a regression stands
in for, a choice of several words, and a plan with a chance.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from evener.schema.records import Choice, JobSheet, Quantity, Task
from evener.scoring.core.draws import quantile
from evener.scoring.core.setting import CannotSize
from evener.scoring.place import loads
from evener.scoring.place.sizes import SHEET_NAME, size, unit_of
from evener.scoring.questions import parts

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.printing import Units
    from evener.scoring.core.setting import Setting
    from evener.scoring.decision.sizing import Sizing

PLACE = "place"
TAIL = 0.025
COUNTS = frozenset({"stack_high"})
NO_SIZE = frozenset({"area_ha", "hours_h"})
COLUMN = {field: column for column, field in SHEET_NAME.items()}


@dataclass(frozen=True)
class Part:
    """One part of an open answer.

    Attributes
    ----------
    text : the answer in words
    share : chance that it is this
    job : the sheet with this answer in it
    """

    text: str
    share: float
    job: JobSheet


@dataclass(frozen=True)
class OpenAnswer:
    """One thing the customer could still settle.

    Attributes
    ----------
    task : name of the task, or None for the place
    quantity : size, choice or "plan"
    now : what the sheet says, and what stands in for it
    ordered : whether neighbouring parts can be told as one
    parts : what the answer may be
    """

    task: str | None
    quantity: str
    now: str
    ordered: bool
    parts: tuple[Part, ...]


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
    """Return everything the sheet leaves open, place first, then task by task in the sheet's order.

    Parameters
    ----------
    sizing : the job as it stands
    units : units the parts are told in; their bounds are round in the sheet's own
    """
    setting = sizing.setting
    sized = {task.task: task for task in sizing.tasks}
    found = [*_of_place(sizing, units)]
    for task in setting.job.tasks:
        if task.name not in sized:
            continue
        names = [one.name for one in sized[task.name].sizes if one.name != "slope" or _own_slope(task)]
        measured = (_of_size(setting, task, name, units) for name in dict.fromkeys([*names, *_stated_open(task)]))
        found += [one for one in measured if one is not None]
        found += _derived(setting, task, units)
        found += _of_choices(setting.job, task)
        if task.planned:
            found.append(_of_plan(setting.job, task))
    return found


def with_task(job: JobSheet, name: str, **changes: Any) -> JobSheet:
    """Return the sheet with something of one task changed."""
    tasks = tuple(replace(task, **changes) if task.name == name else task for task in job.tasks)
    return replace(job, tasks=tasks)


def without_task(job: JobSheet, name: str) -> JobSheet:
    """Return the sheet without one task."""
    machines = tuple(replace(one, takes=tuple(taken for taken in one.takes if taken != name)) for one in job.machines)
    return replace(job, tasks=tuple(task for task in job.tasks if task.name != name), machines=machines)


def planned_for_sure(job: JobSheet, name: str) -> JobSheet:
    """Return the sheet with one plan come true."""
    return with_task(job, name, planned=False, chance=1.0, year=None)


def _own_slope(task: Task) -> bool:
    return task.slope is not None and task.slope.low is not None


def _stated_open(task: Task) -> list[str]:
    """Return the columns of everything the sheet gives for a task as a range, as about or as not known."""
    stated = [(one.name, getattr(task, one.name)) for one in fields(task) if one.name not in NO_SIZE]
    return [
        COLUMN.get(name, name)
        for name, value in stated
        if isinstance(value, Quantity) and value.given != "exact" and (name != "slope" or _own_slope(task))
    ]


def _of_size(setting: Setting, task: Task, name: str, units: Units) -> OpenAnswer | None:
    field = SHEET_NAME.get(name, name)
    one = size(setting, task, name)
    if one is None or not one.open or field not in {column.name for column in fields(task)}:
        return None
    said: Quantity | None = getattr(task, field)
    return _measured(setting.job, task.name, name, (one.low, one.high), said, units)


def _measured(
    job: JobSheet,
    task: str | None,
    name: str,
    ends: tuple[float, float],
    said: Quantity | None,
    units: Units,
    values: Array | None = None,
) -> OpenAnswer:
    """Return a measure of a task, or of the place, split at bounds that are round in the sheet's own units."""
    unit, field = unit_of(name), SHEET_NAME.get(name, name)
    shown, own = parts.scale(unit, units, name), parts.scale(unit, job.policy.units, name)
    cut = parts.counts(*ends) if name in COUNTS else parts.spans(*ends, own, values)
    found = []
    for one in cut:
        given = Quantity(one.middle, one.middle, "exact")
        if task is None:
            place: dict[str, Any] = {field: given}
            changed = replace(job, place=replace(job.place, **place))
        else:
            changed = with_task(job, task, **{field: given})
        found.append(Part(parts.text(one.low, one.high, shown), one.share, changed))
    known = said is not None and said.low is not None
    now = said.text if known and said is not None and said.text else f"not said, taken as {parts.text(*ends, shown)}"
    return OpenAnswer(task, name, now, ordered=True, parts=tuple(found))


def _of_place(sizing: Sizing, units: Units) -> Iterator[OpenAnswer]:
    job = sizing.setting.job
    slopes = [one for task in sizing.tasks for one in task.sizes if one.name == "slope"]
    own = {task.name for task in job.tasks if _own_slope(task)}
    shared = [one for task in sizing.tasks if task.task not in own for one in task.sizes if one.name == "slope"]
    if slopes and shared:
        yield _measured(job, None, "slope", (shared[0].low, shared[0].high), job.place.slope, units)
    height = job.place.altitude_m
    if height.low is not None and height.high is not None and height.low < height.high:
        yield _measured(job, None, "altitude_m", (height.low, height.high), height, units)
    if job.place.soil.settled is None:
        found = [
            Part(word, 1 / len(job.place.soil.among), replace(job, place=replace(job.place, soil=Choice((word,)))))
            for word in job.place.soil.among
        ]
        yield OpenAnswer(None, "soil", _words(job.place.soil), ordered=False, parts=tuple(found))


def _derived(setting: Setting, task: Task, units: Units) -> Iterator[OpenAnswer]:
    """Yield what is worked out from other things although a scale, a plate or a tape would tell it."""
    record = setting.record(task)
    if task.machine_mass_kg is None and (record is None or record.mass_kg is None):
        with_mass = _try(setting, task, "machine")
        if with_mass is not None:
            yield _measured(setting.job, task.name, "mass_kg", _ends(with_mass), None, units, with_mass)
    if task.family == "bale_spear" and task.load_kg is None:
        with_bale = _try(setting, task, "bale")
        if with_bale is not None:
            yield _measured(setting.job, task.name, "payload_kg", _ends(with_bale), None, units, with_bale)
    if setting.attachment(task) == "mounted" and task.centre_of_mass_m is None:
        reach = size(setting, task, "centre_of_mass_m")
        if reach is not None and reach.open and task.family != "bale_spear":
            yield _measured(setting.job, task.name, "centre_of_mass_m", (reach.low, reach.high), None, units)


def _try(setting: Setting, task: Task, what: str) -> Array | None:
    try:
        drawn = (loads.machine if what == "machine" else loads.bale)(setting, task).mass_kg
    except CannotSize:
        return None
    return drawn if float(drawn.min()) < float(drawn.max()) else None


def _ends(values: Array) -> tuple[float, float]:
    return quantile(values, TAIL), quantile(values, 1 - TAIL)


def _of_choices(job: JobSheet, task: Task) -> Iterator[OpenAnswer]:
    choices = (("growth", task.growth), ("pace", task.pace), ("crop", task.crop))
    for name, choice in choices:
        if choice is None or choice.settled is not None:
            continue
        found = [
            Part(word, 1 / len(choice.among), with_task(job, task.name, **{name: Choice((word,))}))
            for word in choice.among
        ]
        yield OpenAnswer(task.name, name, _words(choice), ordered=False, parts=tuple(found))


def _of_plan(job: JobSheet, task: Task) -> OpenAnswer:
    comes = Part("yes", task.chance, planned_for_sure(job, task.name))
    never = Part("no", 1 - task.chance, without_task(job, task.name))
    year = f" for {task.year}" if task.year else ""
    return OpenAnswer(
        task.name, "plan", f"planned{year}, chance {task.chance * 100:.0f} %", ordered=False, parts=(comes, never)
    )


def _words(choice: Choice) -> str:
    return " or ".join(choice.among)


def changed_tasks(before: JobSheet, after: JobSheet) -> tuple[Sequence[Task], frozenset[str]]:
    """Return the tasks that have to be worked out anew, and the names of those that are gone."""
    gone = {task.name for task in before.tasks} - {task.name for task in after.tasks}
    if after.place != before.place:
        return after.tasks, frozenset(gone)
    return [task for task in after.tasks if task not in before.tasks], frozenset(gone)
