"""Daily chores, which nobody is hired for."""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.money.terms import Terms


def for_hire(task: Task, terms: Terms) -> bool:
    """Tell whether somebody can be hired for a task: as the sheet says, else where it is no daily chore.

    Parameters
    ----------
    task : the work
    terms : from how many times a year it is daily
    """
    if task.hire is not None:
        return task.hire
    return task.family not in _families() and task.times_per_year < terms["daily_times"]


@lru_cache(maxsize=1)
def _families() -> frozenset[str]:
    """Return the families of machines whose work is a daily chore."""
    text = resources.files("evener.scoring.money").joinpath("chores.csv").read_text(encoding="utf-8")
    return frozenset(row["family"] for row in csv.DictReader(text.splitlines()))
