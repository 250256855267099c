"""Tools of the loader that grow with the tractor they are bought for, where nobody says their mass or load."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.mechanics.engine import level
from evener.scoring.place import loads, masses

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace

BOUGHT_WITH_THE_TRACTOR = frozenset({"loader_bucket", "grapple"})
TOOL, LOAD = "loader_tool", "loader_load"


def lifted(setting: Setting, task: Task, trace: Trace, *, share: float = 1.0) -> tuple[Array, Array]:
    """Return what a loader lifts, tool and load [kg], and how much more for each kg of tractor [1].

    Parameters
    ----------
    setting, task : the job and the task
    trace : where its steps go
    share : of the load that is in it, where it can be parted [1]
    """
    nothing = np.zeros(setting.draws.n)
    if task.family not in BOUGHT_WITH_THE_TRACTOR:
        partly, _ = masses.partly_full(setting, task) if share < 1.0 else (None, 1.0)
        return masses.full(setting, task, trace) if partly is None else partly, nothing
    fixed, grows = nothing, nothing
    record = setting.record(task)
    if task.machine_mass_kg is not None or record is not None:
        tool = masses.machine(setting, task)
        trace.follow(tool.steps)
        fixed = fixed + tool.mass_kg
    else:
        of_tractor = setting.allowance(TOOL, task.family)
        trace.given("tool over the tractor's mass", of_tractor, "1", source="PRACTICE", status="practice")
        grows = grows + of_tractor
    load = loads.payload(setting, task)
    if load is not None:
        trace.follow(load.steps)
        fixed = fixed + np.asarray(level.part_way(0.0, P_1=load.mass_kg, x=share))
    else:
        of_tractor = setting.allowance(LOAD)
        trace.given("load over the tractor's mass", of_tractor, "1", source="PRACTICE", status="practice")
        grows = grows + of_tractor
    return fixed, grows
