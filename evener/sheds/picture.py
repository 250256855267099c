"""The picture of a planned season."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from evener.scoring.shed.gantt import Bar, gantt

if TYPE_CHECKING:
    from evener.sheds.season import Assignment

WEEK = 7


def picture(plan: Assignment, hours_a_day: float) -> str:
    """Return a season as SVG: a row for each tractor that works.

    Parameters
    ----------
    plan : the season
    hours_a_day : hours of a whole day [h]
    """
    first, last = dt.date.fromisoformat(plan.first), dt.date.fromisoformat(plan.last)
    bars = [
        Bar(
            one.tractor or "",
            (dt.date.fromisoformat(day.date) - first).days,
            min(1.0, day.hours / hours_a_day),
            one.member,
            day.late,
        )
        for one in plan.tasks
        for day in one.days
    ]
    bars.sort(key=lambda bar: (bar.row, bar.day))
    begun = min((bar.day for bar in bars), default=0)
    ends = max((bar.day for bar in bars), default=(last - first).days)
    ticks = [
        (day, f"{date.day} {date:%b}")
        for day in range(ends + 1)
        if (date := first + dt.timedelta(days=day)).weekday() == 0 and day >= begun - WEEK
    ]
    rows = list(dict.fromkeys(one.tractor for one in plan.tasks if one.tractor and one.days))
    return gantt(bars, rows, ticks, f"{plan.shed}, {plan.first} to {plan.last}, rule {plan.rule}")
