"""The sheet as it would read otherwise: with something answered, a plan come true, a task dropped."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import JobSheet, Task


def with_place(job: JobSheet, **changes: Any) -> JobSheet:
    """Return the sheet with something of the place changed."""
    return replace(job, place=replace(job.place, **changes))


def with_land(job: JobSheet, use: str, **changes: Any) -> JobSheet:
    """Return the sheet with something of one use of the land changed."""
    land = tuple(replace(one, **changes) if one.use == use else one for one in job.place.land)
    return with_place(job, land=land)


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


def changed_tasks(before: JobSheet, after: JobSheet) -> tuple[Sequence[Task], frozenset[str]]:
    """Return the tasks that have to be worked out anew, and the names of those that are gone."""
    gone = {task.name for task in before.tasks} - {task.name for task in after.tasks}
    if after.place != before.place:
        return after.tasks, frozenset(gone)
    return [task for task in after.tasks if task not in before.tasks], frozenset(gone)
