"""Which published row a machine answers to: its family's, or that of its build, width or way of being carried."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

from evener.scoring.core.comparing import middle
from evener.scoring.place.sizes import size

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.setting import Row, Setting

NO_END_M = 60.0


def rotary_row(setting: Setting, task: Task) -> str | None:
    """Return the row of rotary_power as machine|variant, or None."""
    return _row(setting, task, "rotary_row", setting.family(task).rotary_row)


def draft_row(setting: Setting, task: Task) -> str | None:
    """Return the row of draft as implement|variant, or None."""
    return _row(setting, task, "draft_row", setting.family(task).draft_row)


def draft_by_width(setting: Setting, task: Task) -> list[tuple[float, str]]:
    """Return the rows that a tool's draft runs between as its width grows: the middle width of each [m], and its name.

    A class of widths without an end is taken to reach from half its bound, or to twice. One row, and no width, where
    the table has the same for all widths.

    Parameters
    ----------
    setting, task : the job and the task
    """
    named, usual = draft_row(setting, task), setting.family(task).draft_row
    if named is None:
        return []
    bounded = sorted(
        (float(row["width_min_m"] or 0.0), float(row["width_max_m"]), str(row["draft_row"]))
        for row in setting.library.rows("variant", family=task.family)
        if row["draft_row"] is not None and row["width_max_m"] is not None and row["build"] is None
    )
    if usual is None or named not in {usual, *(name for _, _, name in bounded)} or len(bounded) < 2:
        return [(0.0, named)]
    between = [(low[1], high[0], usual) for low, high in pairwise(bounded) if low[1] < high[0]]
    return sorted((_middle_of(low, high), name) for low, high, name in (*bounded, *between))


def _middle_of(low: float, high: float) -> float:
    first = low or high / 2
    return math.sqrt(first * (high if high < NO_END_M else 2 * first))


def _row(setting: Setting, task: Task, column: str, usual: str | None) -> str | None:
    if usual is None:
        return None
    for row in setting.library.rows("variant", family=task.family):
        if row[column] is not None and _is(setting, task, row):
            return str(row[column])
    return usual


def _is(setting: Setting, task: Task, row: Row) -> bool:
    record = setting.record(task)
    of_record = record is not None and row["word"] is not None and row["word"] in record.label.casefold()
    if (row["build"] is not None or row["word"] is not None) and not of_record and row["build"] != task.build:
        return False
    if row["attachment"] is not None and row["attachment"] != setting.attachment(task):
        return False
    if row["width_max_m"] is None:
        return True
    width = size(setting, task, "working_width_m")
    return width is not None and (row["width_min_m"] or 0.0) <= middle(width.low, width.high) < row["width_max_m"]
