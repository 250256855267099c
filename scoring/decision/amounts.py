"""How much of a task there is in a year, as far as the sheet tells, and what hiring it comes to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.work_time import area, day, hours, pace
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.mechanics.work import yearly_cost
from evener.scoring.money import hiring
from evener.scoring.money.hiring import Amounts
from evener.scoring.money.yearly_work import YearlyTask

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.combinations.work_time import Pace
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting
    from evener.scoring.money.terms import Terms


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


def yearly(setting: Setting, task: Task, gap: float | None, taken: Terms) -> tuple[YearlyTask, bool]:
    """Return a task with its money, and whether its hours are known.

    Parameters
    ----------
    setting, task : the job, and one task of it
    gap : the chance of work that nobody named, as far as it is reckoned with; None for a task of the sheet
    taken : the terms
    """
    much, known = amounts(setting, task, taken)
    charged = hiring.rate(task.family, much, setting.library, setting.job.money, taken)
    hired = hiring.hire(charged, much, taken, setting.trace())
    sure = gap is None and not task.planned
    years = 1.0 if sure else _years(task, gap, taken)
    comes = np.ones(setting.draws.n, bool) if sure else _comes(setting, task, gap) & (years > 0)
    listed = sure and not task.hire
    return YearlyTask(task.name, much, charged, hired, comes, years, listed, gap is not None), known


def _comes(setting: Setting, task: Task, gap: float | None) -> Mask:
    return setting.draws.comes(task.name, task.chance if gap is None else gap)


def _years(task: Task, gap: float | None, taken: Terms) -> float:
    """Return the share of the years held in which a plan is there; work nobody named is there from the first."""
    if gap is not None:
        return 1.0
    first = taken["plan_year"] if task.year is None else max(1.0, task.year - taken["year_zero"] + 1)
    return float(yearly_cost.share_of_years(first, N=taken["years"]))
