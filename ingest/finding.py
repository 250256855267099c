"""One problem in input data, and many of one kind told as few: what a person is shown stays short, and counts all.

The classes are in `findings/` and `jobsheet/findings.py`; each enters itself in `CATALOGUE` under its stable id.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

CATALOGUE: dict[str, type[Finding]] = {}

MOST_LINES = 8  # lines that a finding names one by one
MOST_GROUPS = 40  # findings of one kind about one column that are told one by one
MOST_KEPT = 2_000  # of these, so many are looked at to find the groups; the rest are counted
_LONGEST = 300  # signs of a cell that a finding shows

Alike = tuple[str, str | None]


@dataclass(frozen=True)
class Finding:
    """One problem in input data.

    Attributes
    ----------
    row : line of the file, counted from 1, or None when the whole file is meant
    column : header or key as written in the file
    raw : the text found there
    values : what the message and the remedy name
    count : on how many rows the same stands
    lines : the first of these rows, where there are several
    unread : whether it leaves its field unknown and the row is loaded, though it would refuse the row elsewhere
    """

    id: ClassVar[str] = ""
    title: ClassVar[str] = ""
    why: ClassVar[str] = ""
    template: ClassVar[str] = ""
    remedy: ClassVar[str] = ""
    refuses: ClassVar[bool] = True
    asks: ClassVar[bool] = True  # whether there is anything for a person to look at; else it is told, and that is all

    row: int | None = None
    column: str | None = None
    raw: str | None = None
    values: dict[str, Any] = field(default_factory=dict)
    count: int = 1
    lines: tuple[int, ...] = ()
    unread: bool = False

    def __init_subclass__(cls, **kwargs: Any) -> None:
        """Enter the class in the catalogue; an id names one class."""
        super().__init_subclass__(**kwargs)
        if cls.id in CATALOGUE:
            raise ValueError(f"finding id {cls.id!r} is taken by {CATALOGUE[cls.id].__name__}")
        CATALOGUE[cls.id] = cls

    @property
    def message(self) -> str:
        """What is wrong, in one sentence."""
        said = self.template.format(row=self.row, column=self.column, raw=_cut(self.raw), **self.values)
        return f"{said}; left unknown" if self.unread else said

    @property
    def stops(self) -> bool:
        """Whether it keeps its row, or its file, from being loaded."""
        return self.refuses and not self.unread

    @property
    def what_to_do(self) -> str:
        """What to do about it."""
        return self.remedy.format(row=self.row, column=self.column, raw=_cut(self.raw), **self.values)

    @property
    def where(self) -> str:
        """The lines it stands on, as a person reads them."""
        if self.row is None:
            return ""
        return listed(self.lines or (self.row,), self.count)

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract: id, row, column, raw, message, remedy."""
        return {
            "id": self.id,
            "row": self.row,
            "column": self.column,
            "raw": _cut(self.raw),
            "message": self.message,
            "remedy": self.what_to_do,
        }

    def as_group(self) -> dict[str, Any]:
        """Return the same with how many rows it stands on, and the first of them."""
        lines = self.lines or ((self.row,) if self.row is not None else ())
        return {**self.as_dict(), "count": self.count, "lines": list(lines)}


def listed(lines: Iterable[int], count: int | None = None) -> str:
    """Return lines as a person reads them, the first few by number and the rest by count.

    Parameters
    ----------
    lines : the lines, or the first of them
    count : how many there are in all
    """
    named = list(lines)
    rest = (count if count is not None else len(named)) - min(len(named), MOST_LINES)
    shown = ", ".join(map(str, named[:MOST_LINES]))
    return f"{shown} and {rest:,} more" if rest > 0 else shown


def _cut(text: str | None) -> str | None:
    return text if text is None or len(text) <= _LONGEST else f"{text[:_LONGEST]}... ({len(text):,} signs)"


class MoreAlike(Finding):
    """Findings of one kind beyond those that are told one by one."""

    id = "more-alike"
    title = "More rows have the same fault"
    why = "So many are told one by one that the kind is clear; each refused row waits in the quarantine all the same."
    template = "{number:,} more rows with {kind}"
    remedy = "settle the first of them; the rest most often have the same cause"
    refuses = False


def folded(noticed: Iterable[Finding], beyond: Mapping[Alike, int] | None = None) -> list[Finding]:
    """Return findings in their order, those that say the same of several rows as one, with how many there are.

    Parameters
    ----------
    noticed : findings, in the order of the file
    beyond : by id and column, how many more there are than are given
    """
    groups: dict[tuple[Any, ...], Finding] = {}
    for one in noticed:
        key = (one.id, one.column, one.message, one.what_to_do) if one.row is not None else (id(one),)
        first = groups.get(key)
        if first is None:
            groups[key] = one
            continue
        lines = (first.lines or (_line(first),)) + (one.lines or (_line(one),))
        groups[key] = dataclasses.replace(first, count=first.count + one.count, lines=lines[:MOST_LINES])
    shown: list[Finding] = []
    told: Counter[Alike] = Counter()
    more: Counter[Alike] = +Counter(beyond or {})
    at: dict[Alike, int | None] = {}
    for one in groups.values():
        alike = (one.id, one.column)
        told[alike] += 1
        if told[alike] <= MOST_GROUPS:
            shown.append(one)
        else:
            more[alike] += one.count
            at.setdefault(alike, one.row)
    for (kind, column), number in more.items():
        row = at.get((kind, column))
        shown.append(MoreAlike(row=row, column=column, values={"number": number, "kind": kind}, count=number))
    return sorted(shown, key=lambda one: one.row or 0)


def _line(finding: Finding) -> int:
    return finding.row or 0
