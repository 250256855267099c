"""What each column of a list was taken for: heading, field, unit, how many cells were read, an example."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.columns.headers import OWN_HEADING
from evener.ingest.rows.rows import Rows
from evener.ingest.text import cells
from evener.ingest.text.held_values import is_blank
from evener.ingest.text.texts import Texts

_UNUSUAL = (
    findings.ColumnByCells,
    findings.ReadAs,
    findings.NoName,
    findings.NamedByLabel,
    findings.BarePower,
    findings.NoUnit,
    findings.DoubleColumn,
    findings.WrongHeaderUnit,
    findings.UnitsDiffer,
)
NOT_READ = "kept as text"


@dataclass(frozen=True)
class Meaning:
    """What one column was taken for.

    Attributes
    ----------
    heading : as written
    field : field it fills, with the kind of engine power where the heading says it; None where it is kept as text
    unit : unit of its bare numbers
    read : cells that gave a value
    unread : cells with text that gave none
    example : its first text
    unusual : what is to be looked at, or ""
    """

    heading: str
    field: str | None
    unit: str | None
    read: int
    unread: int
    example: str
    unusual: str

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {name: getattr(self, name) for name in self.__dataclass_fields__}


def meanings(rows: Rows) -> Iterator[Meaning]:
    """Yield what each column of prepared rows was taken for, in the order of the file.

    Parameters
    ----------
    rows : prepared rows
    """
    unusual: dict[str | None, list[str]] = {}
    warned: Counter[str | None] = Counter()
    for finding in rows.findings:
        warned[finding.column] += finding.row is not None
        if isinstance(finding, _UNUSUAL):
            unusual.setdefault(finding.column, []).append(finding.title)
    for one in rows.matches:
        if one.header.startswith(OWN_HEADING):
            continue
        place = rows.table.headers.index(one.header) if one.header in rows.table.headers else one.position
        written = rows.table.columns[place]
        filled = _filled(written)
        if one.position != place:
            filled &= _filled(rows.table.columns[one.position])  # of a cell that says two things, its own part
        read = 0
        if one.field is not None and one.field.name in rows.values:
            read = int((~is_blank(rows.values[one.field.name]) & filled).sum())
        implied = "".join(f", {word}" for word in one.implies.values())
        first = int(filled.argmax()) if filled.any() else None
        yield Meaning(
            heading=one.header,
            field=f"{one.field.name}{implied}" if one.field is not None else None,
            unit=one.unit,
            read=read,
            unread=int(filled.sum()) - read,
            example=written[first].strip() if first is not None else "",
            unusual="; ".join(dict.fromkeys(unusual.get(one.header, ()))),
        )


def _filled(column: Texts) -> NDArray[np.bool_]:
    """Return the rows of a column that say anything."""
    said = (not cells.is_missing(text) for text in column.distinct)
    return column.rows_of(np.fromiter(said, bool, column.distinct_count))
