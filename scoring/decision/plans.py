"""What plans do to the pick: without them, with all of them come true, and with each one alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from evener.scoring.core.otherwise import planned_for_sure, without_task

if TYPE_CHECKING:
    from evener.scoring.decision.what_if import WhatIf


def plans(what_if: WhatIf) -> dict[str, Any] | None:
    """Return the pick without plans and with them, and which plan makes the difference.

    Parameters
    ----------
    what_if : the job and its picks

    Returns
    -------
    dict or None
        `pick_without`, `pick_with` (every plan come true), `differ`, and for each plan `task`, `chance`, `year`,
        `pick_if_so` (that plan alone come true) and `makes_the_difference`; None where nothing is planned.
    """
    job = what_if.sizing.setting.job
    sized = {task.task for task in what_if.sizing.tasks}
    planned = [task for task in job.tasks if task.planned and task.name in sized]
    if not planned:
        return None
    none, every = job, job
    for task in planned:
        none = without_task(none, task.name)
        every = planned_for_sure(every, task.name)
    without, with_all = what_if.pick(none), what_if.pick(every)
    alone = []
    for task in planned:
        only = planned_for_sure(job, task.name)
        for other in planned:
            if other is not task:
                only = without_task(only, other.name)
        found = what_if.pick(only)
        alone.append(
            {
                "task": task.name,
                "chance": task.chance,
                "year": task.year,
                "pick_if_so": found.tractor_id,
                "makes_the_difference": found.tractor_id != without.tractor_id,
            }
        )
    return {
        "pick_without": without.tractor_id,
        "pick_with": with_all.tractor_id,
        "differ": without.tractor_id != with_all.tractor_id,
        "plans": alone,
    }
