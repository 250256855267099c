"""Whether a tractor that can't carry a machine could pull one of that size which runs on its own wheels."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations.outcomes import task_outcome
from evener.scoring.core.setting import CannotSize, Setting

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Mask
    from evener.scoring.gives.offer import Offer

TRAILED = "trailed"


def does_it_trailed(setting: Setting, task: Task, offer: Offer, keep: Mask, level: float) -> bool:
    """Return whether a tractor does a task surely enough with a trailed machine, where its family has such ones.

    Parameters
    ----------
    setting, task, offer : the job, the task and the tractor
    keep : the draws that count
    level : how surely [1]
    """
    if task.have or setting.record(task) is not None:
        return False
    if not any(one.attachment == TRAILED for one in setting.library.of_family(task.family)):
        return False
    aside = Setting(setting.job, setting.library, setting.draws)
    try:
        asked = demands_of(aside, replace(task, attachment=TRAILED))
    except CannotSize:
        return False
    met = task_outcome(asked, offer.block).met[0][keep]
    return bool(np.count_nonzero(met) >= level * met.size - 1e-9)
