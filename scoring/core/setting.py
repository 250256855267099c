"""What a job is sized in: the sheet, the shared draws, and the library's records and published tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from evener.schema.records import Family, Implement, JobSheet, RatingFit, Task
from evener.scoring.core.draws import Array, Draws

Row = Mapping[str, Any]
Tables = Mapping[str, Sequence[Row]]
Worked = TypeVar("Worked")


class CannotSize(ValueError):
    """A task that cannot be sized, with what is missing and what to say.

    Attributes
    ----------
    task : name of the task
    why : what is missing
    fix : what to write in the sheet
    """

    def __init__(self, task: str, why: str, fix: str) -> None:
        super().__init__(f"{task}: {why}. {fix}.")
        self.task = task
        self.why = why
        self.fix = fix


@dataclass(frozen=True)
class Library:
    """The records and published tables that demands rest on, as read from a store."""

    implements: Mapping[str, Implement]
    families: Mapping[str, Family]
    fits: Mapping[str, RatingFit]
    tables: Tables

    def rows(self, table: str, **wanted: Any) -> list[Row]:
        """Return the rows of a reference table whose columns equal what is wanted."""
        return [row for row in self.tables[table] if all(row[column] == value for column, value in wanted.items())]

    def row(self, table: str, **wanted: Any) -> Row:
        """Return the one row that matches.

        Raises
        ------
        LookupError
            If none or several match: the table was edited into a shape the models do not know.
        """
        found = self.rows(table, **wanted)
        if len(found) != 1:
            named = ", ".join(f"{column} = {value!r}" for column, value in wanted.items())
            raise LookupError(f"{len(found)} rows of {table}.csv have {named}; the models need exactly one")
        return found[0]

    def allowance(self, name: str, level: str | None = None) -> Row:
        """Return one allowance by name and level."""
        return self.row("allowance", allowance=name, level=level)


@dataclass(frozen=True)
class Setting:
    """One job against one library with one set of draws."""

    job: JobSheet
    library: Library
    draws: Draws
    _drawn: dict[tuple[str, str | None], Array] = field(default_factory=dict, init=False, compare=False, repr=False)

    _worked: dict[tuple[Any, Task], Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def once(self, task: Task, work_out: Callable[[Setting, Task], Worked]) -> Worked:
        """Return what is worked out of a task, worked out once for all that ask."""
        if (work_out, task) not in self._worked:
            self._worked[work_out, task] = work_out(self, task)
        found: Worked = self._worked[work_out, task]
        return found

    def family(self, task: Task) -> Family:
        """Return the family of a task's implement."""
        return self.library.families[task.family]

    def record(self, task: Task) -> Implement | None:
        """Return the implement record a task names, if it names one."""
        return self.library.implements[task.implement_id] if task.implement_id else None

    def attachment(self, task: Task) -> str | None:
        """Return how the implement is carried: as the sheet says, else the record, else the family's usual way."""
        record = self.record(task)
        return task.attachment or (record.attachment if record else None) or self.family(task).attachment

    def peers(self, task: Task) -> Iterator[Implement]:
        """Yield the library's records of the same family that are carried the same way."""
        attachment = self.attachment(task)
        for implement in self.library.implements.values():
            if implement.family == task.family and implement.attachment == attachment:
                yield implement

    def allowance(self, name: str, level: str | None = None) -> Array:
        """Draw an allowance, uniform between its low and high, in the unit of its row."""
        drawn = self._drawn.get((name, level))
        if drawn is None:
            row = self.library.allowance(name, level)
            drawn = self.draws.uniform(f"allowance/{name}/{level or ''}", row["low"], row["high"])
            self._drawn[name, level] = drawn
        return drawn
