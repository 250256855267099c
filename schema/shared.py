"""A machine of the sheet that several tasks share: what it has is one fact for all of them, and is said of it alone."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from evener.schema.records import Machine

if TYPE_CHECKING:
    from evener.schema.records import JobSheet, Task

HELD = frozenset(one.name for one in fields(Machine)) - {"name", "line"}
OF_THE_WORK = frozenset({"stem_m", "load_kg", "bale_width_m", "bale_diameter_m", "bale_height_m"})


def machine_of(job: JobSheet, task: Task, field: str) -> Machine | None:
    """Return the machine of the sheet whose a field of a task is; None where it is the task's own.

    What nobody said is the machine's too, but for stems, loads and bales, which are the work's where the machine does
    not make them.

    Parameters
    ----------
    job, task : the sheet, and one task of it
    field : a field of the task
    """
    own = next((one for one in job.implements if one.name == task.machine), None)
    if own is None or field not in HELD or getattr(task, field) != getattr(own, field):
        return None
    unsaid = getattr(own, field) is None
    makes = field.startswith("bale_") and own.family.endswith("baler")
    return None if unsaid and field in OF_THE_WORK and not makes else own


def with_machine(job: JobSheet, name: str, **changes: Any) -> JobSheet:
    """Return the sheet with something of a machine changed, and of the tasks that take it from there.

    Parameters
    ----------
    job : the sheet
    name : of the machine
    changes : fields of it
    """
    tasks = []
    for task in job.tasks:
        taken = [field for field in changes if task.machine == name and _same(job, task, field)]
        tasks.append(replace(task, **{field: changes[field] for field in taken}))
    machines = tuple(replace(one, **changes) if one.name == name else one for one in job.implements)
    return replace(job, tasks=tuple(tasks), implements=machines)


def _same(job: JobSheet, task: Task, field: str) -> bool:
    return any(one.name == task.machine and getattr(one, field) == getattr(task, field) for one in job.implements)
