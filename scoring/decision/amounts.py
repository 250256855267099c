"""How much of a task there is in a year: hours, hectares, bales, days and times, as far as the sheet tells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.baled import hours_and_bales
from evener.scoring.combinations.work_time import area, day, hours, pace
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.money.hiring import Amounts

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.combinations.work_time import Pace
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.money.terms import Terms

OF_BALES = ("yield_hay", "yield_silage", "wrapped_an_hour", "carried_an_hour")


def amounts(setting: Setting, task: Task, terms: Terms) -> tuple[Amounts, bool]:
    """Return how much of a task there is in a year, and whether its hours are known rather than taken.

    Parameters
    ----------
    setting, task : the job and the task
    terms : what is taken where the sheet says neither hours nor area
    """
    going = _pace(setting, task)
    each = _hours(setting, task, going)
    times = task.times_per_year
    baled = hours_and_bales(setting, task, {name: terms[name] for name in OF_BALES}) if each is None else None
    if baled is not None:
        whole, many = (values * times for values in baled)
        land = area(setting, task)
        hectares = None if land is None else land * times
        return Amounts(whole, times, ha=hectares, bales=many, days=whole / day(setting)), False
    if each is None:
        taken = np.full(setting.draws.n, terms["hours_unsaid"])
        return Amounts(taken, times, days=taken / day(setting)), False
    land = area(setting, task)
    whole = each * times
    bales = None if going is None or going.bales_h is None else going.bales_h * whole
    return (
        Amounts(
            hours=whole,
            times=times,
            ha=None if land is None else land * times,
            bales=bales,
            days=whole / day(setting),
        ),
        True,
    )


def _pace(setting: Setting, task: Task) -> Pace | None:
    try:
        return pace(setting, task)
    except OutOfRange:
        return None


def _hours(setting: Setting, task: Task, going: Pace | None) -> Array | None:
    try:
        return hours(setting, task, going)
    except OutOfRange:
        return None
