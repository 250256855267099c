"""The answer to one question in SQL."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.results.answer import Answer, contract
from evener.schema.store import asking

if TYPE_CHECKING:
    from pathlib import Path

    from evener.scoring.core.printing import Units

SCHEMA = 1
MOST = 100_000


@dataclass(frozen=True)
class Column:
    """A column of an answer: its name, and its type in the store."""

    name: str
    type: str


@dataclass(frozen=True)
class SqlAnswer(Answer):
    """Rows that answer a question.

    Attributes
    ----------
    columns : names and types
    values : the rows, as JSON has their values
    cut : whether there were more rows than asked for
    """

    columns: tuple[Column, ...]
    values: tuple[tuple[Any, ...], ...]
    cut: bool

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:  # noqa: ARG002
        """Return the rows, column by name.

        Parameters
        ----------
        units : a question names its units itself, so this changes nothing
        """
        names = [column.name for column in self.columns]
        return [dict(zip(names, row, strict=True)) for row in self.values]

    def to_dict(self, units: Units = "si") -> dict[str, Any]:
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : as `rows`
        """
        return {"schema": SCHEMA, "columns": contract(self.columns, units), "rows": self.rows(), "cut": self.cut}


def query(path: Path, sql: str, *, most: int = MOST, seconds: float = asking.SECONDS) -> SqlAnswer:
    """Answer one SELECT on a store, locked and read-only.

    Parameters
    ----------
    path : the store
    sql : one SELECT, or a plain EXPLAIN of one
    most : rows wanted at most [1]
    seconds : longest it may take [s]

    Raises
    ------
    evener.StoreError
        The question is refused or was stopped, or the path holds no store that can be read.
    """
    found = asking.ask(path, sql, most=most, seconds=seconds)
    columns = tuple(Column(name, kind) for name, kind in zip(found.columns, found.types, strict=True))
    return SqlAnswer(columns, tuple(tuple(row) for row in found.rows), found.cut)
