"""What people call a task's machine: its family's label, but where that misleads the word for its build."""

from __future__ import annotations

import csv
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.records import Family, Task


def called(family: Family, task: Task) -> str:
    """Return what to call a task's machine, in the words of the trade.

    Parameters
    ----------
    family : of the machine
    task : which may say a build, or a size that only such a build has
    """
    for row in _rows():
        if row["family"] == task.family and (
            task.build == row["build"] or (row["when"] and getattr(task, row["when"]) is not None)
        ):
            return row["label"]
    return family.label.lower()


@lru_cache(maxsize=1)
def _rows() -> tuple[dict[str, str], ...]:
    text = resources.files("evener.scoring.place").joinpath("called.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
