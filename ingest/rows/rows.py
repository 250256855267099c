"""A file's rows as records of one kind, with the refused ones set apart, and what was noticed of them."""

from __future__ import annotations

import dataclasses
from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evener.ingest import ceilings
from evener.ingest.columns.columns import Column
from evener.ingest.columns.field_cells import Setting
from evener.ingest.columns.headers import Match
from evener.ingest.files.readers import Table
from evener.ingest.finding import MOST_KEPT, Alike, folded
from evener.ingest.findings import Finding
from evener.ingest.rows import severity
from evener.ingest.text.held_values import Values
from evener.schema.store.batches import FILE_SOURCE

OWN_FIELDS = ("batch_id", "file_row")
STATED = "stated"


class TooManyRefused(Exception):
    """More rows are refused than are kept for correction."""


@dataclass
class Rows:
    """The rows of one file as records.

    Attributes
    ----------
    record : kind of record
    table : the file
    matches : what its columns mean
    findings : everything noticed, in the order of the file
    owner, kind : given for the whole file
    setting : decimal mark and measures its cells are read with
    values : by field, the values of all rows
    refused : rows that a finding refuses, with those findings
    beyond : by id and column, how many findings there are beside those that are kept
    unread : by field, the rows whose cell is left unknown, and kept as text
    by_hand : rows and fields that hold a correction by hand
    """

    record: str
    table: Table
    matches: list[Match]
    findings: list[Finding]
    owner: str | None = None
    kind: str | None = None
    setting: Setting = field(default_factory=Setting)
    values: dict[str, Values] = field(default_factory=dict)
    refused: dict[int, list[Finding]] = field(default_factory=dict)
    unread: dict[str, NDArray[np.bool_]] = field(default_factory=dict)
    beyond: Counter[Alike] = field(default_factory=Counter)
    by_hand: set[tuple[int, str]] = field(default_factory=set)
    _told: Counter[Alike] = field(default_factory=Counter, repr=False)

    @property
    def unusable(self) -> bool:
        """Whether the headings already rule the file out."""
        return any(finding.stops and finding.row is None for finding in self.findings)

    @property
    def count(self) -> int:
        """Rows that have a place in the columns."""
        return len(self.table.lines)

    @property
    def read(self) -> int:
        """Rows of the file, the misshapen ones among them."""
        return self.count + len(self.table.refused)

    @property
    def source_id(self) -> str:
        """Id of the source the file itself is, for rows that cite no other."""
        return f"{FILE_SOURCE}{self.table.name}"

    @property
    def mapping(self) -> dict[str, tuple[str | None, str | None]]:
        """By heading, the field it fills and the unit of its bare numbers."""
        # A description that names the rows too stands once more behind the headings.
        matches = self.matches[: len(self.table.headers)]
        return {one.header: (one.field.name if one.field else None, one.unit) for one in matches}

    @property
    def settled(self) -> dict[str, list[str | None]]:
        """By heading, what it takes to read a column so again: field, unit, and the kind of engine power."""
        width = len(self.table.headers)
        return {
            one.header: [
                one.field.name if one.field and one.position < width else None,
                one.unit,
                *one.implies.values(),
            ]
            for one in self.matches[:width]
        }

    def unplace(self, match: Match) -> None:
        """Keep a column as text only."""
        self.matches = [dataclasses.replace(one, field=None) if one is match else one for one in self.matches]

    def take_findings(self, column: Column) -> None:
        """Note what is wrong with the cells of a column, as severe as its field makes it."""
        name = column.field.name
        for position, finding in column.remarks:
            self.refuse(position, finding)
        if severity.essential(self.record, name):
            for position, finding in column.findings:
                self.refuse(position, finding)
        elif column.unread is not None and column.findings:
            self.unread[name] = column.unread
            for position, finding in column.findings:
                self.refuse(position, severity.of_cell(self.record, name, finding))
            last = column.findings[-1][1]
            self.beyond[last.id, last.column] += int(column.unread.sum()) - len(column.findings)

    def refuse(self, position: int, finding: Finding) -> None:
        """Note a finding on a row, and set the row apart if it refuses.

        Raises
        ------
        TooManyRefused
            More rows are refused than are kept for correction.
        """
        alike = (finding.id, finding.column)
        self._told[alike] += 1
        if self._told[alike] <= MOST_KEPT:
            self.findings.append(finding)
        else:
            self.beyond[alike] += 1
        if finding.stops:
            self.set_apart(position, finding)

    def set_apart(self, position: int, finding: Finding) -> None:
        """Keep a row from being loaded, for a finding that is told already.

        Raises
        ------
        TooManyRefused
            More rows are refused than are kept for correction.
        """
        self.refused.setdefault(position, []).append(finding)
        if len(self.refused) + len(self.table.refused) > ceilings.MOST_REFUSED:
            raise TooManyRefused

    @property
    def told(self) -> list[Finding]:
        """Everything noticed as a person is shown it: what says the same of several rows is one finding."""
        return folded(self.findings, self.beyond)

    def good(self) -> NDArray[np.int64]:
        """Return the positions of the rows that no finding refuses."""
        keep = np.ones(self.count, bool)
        keep[list(self.refused)] = False
        return np.flatnonzero(keep)


def as_written(rows: Rows, position: int, finding: Finding) -> Finding:
    """Return a finding that names a field as one that names the column and text it came from."""
    for one in rows.matches:
        if one.field is not None and one.field.name == finding.column:
            text = rows.table.columns[one.position][position]
            return dataclasses.replace(finding, column=one.header, raw=text)
    return finding
