"""Hours of baling, wrapping and carrying bales where only the land is known: by what a cut yields as a rule."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.work_time import BALERS, area, pace
from evener.scoring.core.setting import CannotSize
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place import loads

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting

SILAGE = "silage"
AN_HOUR = {"bale_wrapper": "wrapped_an_hour", "bale_spear": "carried_an_hour"}


def hours_and_bales(setting: Setting, task: Task, usual: Mapping[str, float]) -> tuple[Array, Array] | None:
    """Return the hours that bales of a task take each time, and how many there are; None where no land tells.

    Parameters
    ----------
    setting, task : the job, and work with bales whose hours the sheet does not say
    usual : what a cut yields, and how many bales are wrapped or carried in an hour
    """
    try:
        if task.family in BALERS:
            going = pace(setting, task)
            baled = _baled(setting, task, usual)
            return None if going is None or going.bales_h is None or baled is None else (baled / going.bales_h, baled)
        if task.family not in AN_HOUR:
            return None
        own = _baled(setting, task, usual)
        many = _of_place(setting, usual) if own is None else own
    except (CannotSize, OutOfRange):
        return None
    return None if many is None else (many / usual[AN_HOUR[task.family]], many)


def _baled(setting: Setting, task: Task, usual: Mapping[str, float]) -> Array | None:
    """Return the bales from the land of a task each time."""
    land = area(setting, task)
    if land is None:
        return None
    silage = task.crop is not None and SILAGE in task.crop.among
    tonnes = land * usual["yield_silage" if silage else "yield_hay"]
    return np.asarray(1000.0 * tonnes / loads.bale(setting, task).mass_kg)


def _of_place(setting: Setting, usual: Mapping[str, float]) -> Array | None:
    """Return the bales that the balers of the sheet make in a year."""
    balers = [task for task in setting.job.tasks if task.family in BALERS]
    found = [(task.times_per_year, _baled(setting, task, usual)) for task in balers]
    made = [times * each for times, each in found if each is not None]
    return np.asarray(np.sum(made, axis=0)) if made else None
