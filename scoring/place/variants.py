"""Which published row a machine answers to: its family's, or that of its build, width or way of being carried."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.core.comparing import middle
from evener.scoring.place.sizes import size

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.setting import Row, Setting


def rotary_row(setting: Setting, task: Task) -> str | None:
    """Return the row of rotary_power as machine|variant, or None."""
    return _row(setting, task, "rotary_row", setting.family(task).rotary_row)


def draft_row(setting: Setting, task: Task) -> str | None:
    """Return the row of draft as implement|variant, or None."""
    return _row(setting, task, "draft_row", setting.family(task).draft_row)


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
