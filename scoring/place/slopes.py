"""How steep the ground of a task is: usually, and at its steepest."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.unknowns import of_place, of_task
from evener.scoring.mechanics.tyres import grade
from evener.scoring.place.sizes import Size, from_prior, need, prior_row, unsaid

if TYPE_CHECKING:
    from evener.schema.records import LandUse, Quantity, Task
    from evener.scoring.core.setting import Setting

SLOPE, STEEPEST = "slope", "steepest"


def slope(setting: Setting, task: Task) -> Size:
    """Return the usual slope along the work [1]: the task's, its land's or the place's, else what such land has."""
    return setting.once(task, _slope)


def steepest(setting: Setting, task: Task) -> Size:
    """Return the steepest stretch that is worked [1]: said, else the slope that is said, else by the usual one."""
    return setting.once(task, _steepest)


def _slope(setting: Setting, task: Task) -> Size:
    if _is_said(task.slope):
        return need(setting, task, SLOPE)
    found = None if task.slope is not None else _of_ground(setting, task, SLOPE)
    if found is not None:
        return found
    row = prior_row(setting, SLOPE, task.family, task.land)
    if row is None:
        raise LookupError("prior.csv has no row for slope")
    told = {"text": unsaid(row), "source": row["source_id"], "status": row["status"]}
    # Drawn once for the place: where one field is steep, so is the next.
    fact = of_place(SLOPE, **told) if task.slope is None else of_task(task.name, SLOPE, drawn_as="place/slope", **told)
    return from_prior(setting, fact, row)


def _steepest(setting: Setting, task: Task) -> Size:
    if _is_said(task.steepest):
        return need(setting, task, STEEPEST)
    found = None if _is_said(task.slope) else _of_ground(setting, task, STEEPEST)
    if found is not None:
        return found
    usual = slope(setting, task)
    if usual.status == "customer":
        return replace(usual, name=STEEPEST)
    times, more = setting.allowance("steepest_times"), setting.allowance("steepest_more")
    values = np.asarray(grade.steepest_stretch(usual.values, k=times, d=more))
    low, high = float(values.min()), float(values.max())
    return Size(STEEPEST, values, low, high, "not said; by the usual slope", "PRACTICE", "practice")


def _of_ground(setting: Setting, task: Task, name: str) -> Size | None:
    """Return what is said of the task's land, else of the place."""
    use = _land(setting, task)
    of_land: Quantity | None = getattr(use, name) if use is not None else None
    given: Quantity | None = of_land if _is_said(of_land) else getattr(setting.job.place, name)
    if given is None or given.low is None or given.high is None:
        return None
    key = f"place/{task.land}/{name}" if given is of_land else ""
    fact = of_place(name, drawn_as=key, text=given.text, source="job sheet", status="customer")
    values = setting.unknowns.uniform(fact, given.low, given.high)
    return Size(name, values, given.low, given.high, fact.text, fact.source, fact.status, fact)


def _land(setting: Setting, task: Task) -> LandUse | None:
    return next((one for one in setting.job.place.land if one.use == task.land), None)


def _is_said(given: Quantity | None) -> bool:
    return given is not None and given.low is not None
