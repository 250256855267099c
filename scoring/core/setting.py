"""What a job is sized in: the sheet, the shared draws, and the library's records and published tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from evener.schema.records import Family, Implement, JobSheet, Task
from evener.scoring.core.carrying import usual_attachment
from evener.scoring.core.draws import Array, Draws
from evener.scoring.core.trace import Trace
from evener.scoring.core.unknowns import Fact, Settled, Unknowns, of_trade

Row = Mapping[str, Any]
Tables = Mapping[str, Sequence[Row]]
Worked = TypeVar("Worked")


class CannotSize(ValueError):
    """A task that cannot be sized, with what is missing and what to say.

    Attributes
    ----------
    task : name of the task
    why : what is missing
    remedy : what to write in the sheet
    """

    def __init__(self, task: str, why: str, remedy: str) -> None:
        super().__init__(f"{task}: {why}. {remedy}.")
        self.task = task
        self.why = why
        self.remedy = remedy


@dataclass(frozen=True)
class Library:
    """The records and published tables that demands rest on, as read from a store.

    Attributes
    ----------
    implements, families : by id and by name
    models : by family the rows of its fitted model, one per quantity
    tables : the tables of parameters, by name
    """

    implements: Mapping[str, Implement]
    families: Mapping[str, Family]
    models: Mapping[str, Sequence[Row]]
    tables: Tables
    _rows: dict[tuple[str, ...], dict[tuple[Any, ...], list[Row]]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    _peers: dict[tuple[str, str | None], list[Implement]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    _worked: dict[tuple[str, str], Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def once(self, name: str, key: str, work_out: Callable[[], Worked]) -> Worked:
        """Return what is worked out of these records under a name and a key, worked out once for all that ask."""
        if (name, key) not in self._worked:
            self._worked[name, key] = work_out()
        result: Worked = self._worked[name, key]
        return result

    def rows(self, table: str, **wanted: Any) -> list[Row]:
        """Return the rows of a reference table whose columns equal what is wanted."""
        columns = (table, *wanted)
        index = self._rows.get(columns)
        if index is None:
            index = self._rows[columns] = {}
            for row in self.tables[table]:
                index.setdefault(tuple(row[column] for column in wanted), []).append(row)
        return index.get(tuple(wanted.values()), [])

    def row(self, table: str, **wanted: Any) -> Row:
        """Return the one row that matches.

        Raises
        ------
        LookupError
            If none or several match: the table was edited into a shape the models do not know.
        """
        matching = self.rows(table, **wanted)
        if len(matching) != 1:
            named = ", ".join(f"{column} = {value!r}" for column, value in wanted.items())
            raise LookupError(f"{len(matching)} rows of {table}.csv have {named}; the models need exactly one")
        return matching[0]

    def allowance(self, name: str, level: str | None = None) -> Row:
        """Return one allowance by name and level."""
        return self.row("allowance", allowance=name, level=level)

    def of_family(self, family: str) -> list[Implement]:
        """Return the records of a family, by id."""
        return self.once("records", family, lambda: [one for one in self.implements.values() if one.family == family])

    def peers(self, family: str, attachment: str | None) -> list[Implement]:
        """Return the records of a family that are carried in one way."""
        if not self._peers:
            for implement in self.implements.values():
                self._peers.setdefault((implement.family, implement.attachment), []).append(implement)
        return self._peers.get((family, attachment), [])


@dataclass(frozen=True)
class Setting:
    """One job against one library with one set of draws.

    Attributes
    ----------
    job, library, draws : the sheet, the records and tables, and the shared draws
    traced : whether steps are written down
    settled : value by key of unknowns that are taken as known
    unknowns : the register of what is uncertain, and the only way to draw
    """

    job: JobSheet
    library: Library
    draws: Draws
    traced: bool = False
    settled: Settled = field(default_factory=dict)
    unknowns: Unknowns = field(init=False, compare=False, repr=False)
    _worked: dict[tuple[Any, Task], tuple[Any, dict[Fact, None]]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    def __post_init__(self) -> None:
        """Open the register."""
        object.__setattr__(self, "draws", self.draws.for_tasks(self.job.tasks))
        object.__setattr__(self, "unknowns", Unknowns(self.draws, self.settled))

    def trace(self) -> Trace:
        """Return an empty line of reasoning, written down where the setting asks for it."""
        return Trace(on=self.traced)

    def once(self, task: Task, work_out: Callable[[Setting, Task], Worked]) -> Worked:
        """Return what is worked out of a task, worked out once for all that ask."""
        kept = self._worked.get((work_out, task))
        if kept is None:
            with self.unknowns.listening() as used:
                kept = self._worked[work_out, task] = work_out(self, task), used
        else:
            self.unknowns.used_again(kept[1])
        result: Worked = kept[0]
        return result

    def family(self, task: Task) -> Family:
        """Return the family of a task's implement."""
        return self.library.families[task.family]

    def record(self, task: Task) -> Implement | None:
        """Return the implement record a task names, if it names one."""
        return self.library.implements[task.implement_id] if task.implement_id else None

    def attachment(self, task: Task) -> str | None:
        """Return how the implement is carried: as the sheet says, else its record, else as such machines are."""
        record = self.record(task)
        said = task.attachment or (record.attachment if record else None)
        records, priors = self.library.of_family(task.family), self.library.tables["prior"]
        return said or usual_attachment(self.family(task), records, priors, task)

    def peers(self, task: Task) -> list[Implement]:
        """Return the library's records of the same family that are carried the same way."""
        return self.library.peers(task.family, self.attachment(task))

    def allowance(self, name: str, level: str | None = None) -> Array:
        """Draw an allowance, uniform between its low and high, in the unit of its row."""
        row = self.library.allowance(name, level)
        fact = of_trade(
            f"allowance/{name}/{level or ''}",
            unit=row["unit"],
            text=row["note"] or "",
            source=row["source_id"],
            status=row["status"],
        )
        return self.unknowns.uniform(fact, row["low"], row["high"])
