"""A file's rows as records of one kind: matched, parsed, checked, with the refused ones set apart.

Nothing here writes. What the check needs of the store (families, sources, power ratios) is read beforehand, so that a
store is held open for writing only while rows go in.
"""

from __future__ import annotations

import dataclasses
import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from evener.ingest import columns, estimates, findings, headers, rules
from evener.ingest.columns import Column
from evener.ingest.findings import Finding
from evener.ingest.headers import Choice, Match, fold
from evener.ingest.readers import Table
from evener.schema import fields, store, tables

if TYPE_CHECKING:
    from evener.schema.store import Connection

Array = NDArray[Any]
OWN_FIELDS = ("batch_id", "file_row")
STATED = "stated"
FILE_SOURCE = "file:"
_OPTIONS = {"kind": ", or give it for the whole file with --kind", "owner": ", or give it with --owner"}


@dataclass(frozen=True)
class Known:
    """What a store holds that rows are checked against.

    Attributes
    ----------
    families : family by each of its names, folded
    sources : ids of the sources
    ratios : PTO over engine power; empty where the store has no such table filled
    """

    families: Mapping[str, str]
    sources: frozenset[str]
    ratios: Mapping[tuple[bool, str | None], estimates.Ratio]


def known_in(con: Connection) -> Known:
    """Return what an open store knows."""
    meant: dict[str, set[str]] = defaultdict(set)
    for family in store.read_families(con).values():
        for name in (family.family, family.label, *family.names):
            meant[fold(name)].add(family.family)
    # A name that two families share settles nothing, and is not known.
    words = {name: min(families) for name, families in meant.items() if len(families) == 1}
    table = store.read_rows(con, "power_ratios")
    return Known(
        families=words,
        sources=frozenset(row["source_id"] for row in store.read_rows(con, "source")),
        ratios=estimates.pto_ratios(table) if table else {},
    )


@dataclass
class Rows:
    """The rows of one file as records.

    Attributes
    ----------
    record : kind of record
    table : the file
    matches : what its columns mean
    values : by field, one value per row; NaN or None where nothing is said
    marks : by row, the fields that were estimated and from what
    refused : rows that a finding refuses, with those findings
    findings : everything noticed, in the order of the file
    owner, kind : given for the whole file
    """

    record: str
    table: Table
    matches: list[Match]
    findings: list[Finding]
    owner: str | None = None
    kind: str | None = None
    values: dict[str, Array] = field(default_factory=dict)
    marks: dict[int, dict[str, str]] = field(default_factory=lambda: defaultdict(dict))
    refused: dict[int, list[Finding]] = field(default_factory=dict)

    @property
    def unusable(self) -> bool:
        """Whether the headings already rule the file out."""
        return any(finding.refuses and finding.row is None for finding in self.findings)

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
        return {one.header: (one.field.name if one.field else None, one.unit) for one in self.matches}

    def refuse(self, position: int, finding: Finding) -> None:
        """Note a finding on a row, and set the row apart if it refuses."""
        self.findings.append(finding)
        if finding.refuses:
            self.refused.setdefault(position, []).append(finding)

    def good(self) -> NDArray[np.int64]:
        """Return the positions of the rows that no finding refuses."""
        keep = np.ones(self.count, bool)
        keep[list(self.refused)] = False
        return np.flatnonzero(keep)

    def frame(self, batch_id: str) -> Any:
        """Return the good rows as a data frame of the record's columns, held to its model."""
        import pandas as pd

        positions = self.good()
        held: dict[str, Any] = {}
        for name, known in fields.of(self.record).items():
            if name == "batch_id":
                held[name] = pd.Series([batch_id] * len(positions), dtype="object")
            elif name == "file_row":
                held[name] = pd.array(np.array(self.table.lines, np.int64)[positions], dtype="Int64")
            elif known.kind == "integer":
                held[name] = pd.array(self.values[name][positions], dtype="Float64").astype("Int64")
            else:
                held[name] = pd.Series(self.values[name][positions], dtype=tables.frame_type(known))
        return tables.model(self.record).validate(pd.DataFrame(held))


def prepare(
    table: Table,
    record: str,
    known: Known,
    *,
    owner: str | None = None,
    kind: str | None = None,
    choices: Mapping[str, Choice] | None = None,
) -> Rows:
    """Return a file's rows as records, with everything that is wrong with them.

    Parameters
    ----------
    table : the file
    record : kind of record its rows are
    known : what the store holds
    owner, kind : given for the whole file; a cell goes before them
    choices : settled by hand, by heading
    """
    matches, noticed = headers.match(table.headers, record, choices)
    rows = Rows(record, table, matches, [*noticed, *table.findings], owner, kind)
    given = _given(rows)
    rows.findings += _missing_columns(rows, given)
    if rows.unusable:
        return rows
    used = [one for one in matches if one.field is not None and one.field.name not in OWN_FIELDS]
    decimal = columns.decimal_mark([(one, table.columns[one.position]) for one in used])
    read: list[tuple[Match, Column]] = []
    for one in used:
        family = record == "implement" and one.field is not None and one.field.name == "family"
        column = columns.read_column(
            one,
            table.columns[one.position],
            decimal=decimal,
            words=known.families if family else None,
            lines=table.lines,
        )
        if isinstance(column, Finding):
            rows.findings.append(column)
        else:
            read.append((one, column))
    if rows.unusable:
        return rows
    _place(rows, read)
    _fill(rows, given)
    if record == "tractor" and known.ratios:
        _estimate_pto(rows, known)
    _write_marks(rows)
    _check(rows, known)
    rows.findings.sort(key=lambda finding: finding.row or 0)
    return rows


def _given(rows: Rows) -> dict[str, str]:
    given = {"kind": rows.kind, "owner": rows.owner, "status": STATED}
    if rows.record != "source":
        given["source_id"] = rows.source_id
    return {name: value for name, value in given.items() if value and name in fields.of(rows.record)}


def _missing_columns(rows: Rows, given: Mapping[str, str]) -> list[Finding]:
    present = {one.field.name for one in rows.matches if one.field is not None} | set(given)
    return [
        findings.MissingColumn(values={"field": one.name, "meaning": one.meaning, "option": _OPTIONS.get(one.name, "")})
        for one in fields.of(rows.record).values()
        if one.required and one.name not in present
    ]


def _is_blank(values: Array) -> NDArray[np.bool_]:
    if values.dtype == object:
        return np.array([value is None for value in values], bool)
    return np.isnan(values)


def _rows(mask: NDArray[np.bool_]) -> list[int]:
    return [int(position) for position in np.flatnonzero(mask)]


def _place(rows: Rows, read: Sequence[tuple[Match, Column]]) -> None:
    """Put every column in its field's place, ranges at both their ends, and blanks where the file has no column."""
    for name, known in fields.of(rows.record).items():
        number = known.kind in ("number", "integer")
        rows.values[name] = np.full(rows.count, np.nan) if number else np.full(rows.count, None, object)
    for _, column in read:
        rows.values[column.field.name] = column.values
        for position, finding in column.findings:
            rows.refuse(position, finding)
    for one, column in read:
        if column.upper is not None and column.field.upper is not None:
            ends = rows.values[column.field.upper]
            given = ~_is_blank(column.upper)
            for position in _rows(given & ~_is_blank(ends)):
                _refuse_range(rows, one, position)
            rows.values[column.field.upper] = np.where(given, column.upper, ends)
        for position in _rows(column.about) if column.about is not None else ():
            if "estimated" in rows.values:
                rows.marks[position][column.field.name] = columns.ABOUT
            else:
                _refuse_range(rows, one, position)
        for name, value in one.implies.items():
            stated = ~_is_blank(column.values) & _is_blank(rows.values[name])
            rows.values[name] = np.where(stated, value, rows.values[name])


def _refuse_range(rows: Rows, one: Match, position: int) -> None:
    text = rows.table.columns[one.position][position]
    values = {"field": one.field.name if one.field else ""}
    finding = findings.RangeNotKept(row=rows.table.lines[position], column=one.header, raw=text, values=values)
    rows.refuse(position, finding)


def _fill(rows: Rows, given: Mapping[str, str]) -> None:
    for name, value in given.items():
        rows.values[name] = np.where(_is_blank(rows.values[name]), value, rows.values[name])


def _estimate_pto(rows: Rows, known: Known) -> None:
    power, reasons = estimates.pto_power(rows.values, known.ratios)
    rows.values["pto_power_kw"] = power
    for position in _rows(~_is_blank(reasons)):
        rows.marks[position]["pto_power_kw"] = reasons[position]


def _write_marks(rows: Rows) -> None:
    for position, marks in rows.marks.items():
        held = rows.values["estimated"][position]
        rows.values["estimated"][position] = json.dumps({**(json.loads(held) if held else {}), **marks}, sort_keys=True)


def _check(rows: Rows, known: Known) -> None:
    lines = rows.table.lines
    for one in fields.of(rows.record).values():
        if not one.required or one.name in OWN_FIELDS:
            continue
        for position in _rows(_is_blank(rows.values[one.name])):
            # A cell that could not be read is blank here, and has its finding already.
            if not any(finding.column in _headings(rows, one.name) for finding in rows.refused.get(position, ())):
                values = {"field": one.name, "meaning": one.meaning}
                blank = findings.MissingValue(row=lines[position], column=one.name, values=values)
                rows.refuse(position, as_written(rows, position, blank))
    for position, finding in rules.check(rows.record, rows.values, lines):
        rows.refuse(position, as_written(rows, position, finding))
    if rows.record != "source":
        _check_sources(rows, known)
    _check_keys(rows)


def _headings(rows: Rows, name: str) -> set[str]:
    return {one.header for one in rows.matches if one.field is not None and one.field.name == name}


def as_written(rows: Rows, position: int, finding: Finding) -> Finding:
    """Return a finding that names a field as one that names the column and text it came from."""
    for one in rows.matches:
        if one.field is not None and one.field.name == finding.column:
            text = rows.table.columns[one.position][position]
            return dataclasses.replace(finding, column=one.header, raw=text)
    return finding


def _check_sources(rows: Rows, known: Known) -> None:
    cited = rows.values["source_id"]
    for source in set(cited) - known.sources - {rows.source_id, None}:
        hint = columns.near(source, sorted(known.sources))
        for position in _rows(cited == source):
            values = {"target": "source", "near": hint, "listed": "sources"}
            finding = findings.UnknownReference(
                row=rows.table.lines[position], column="source_id", raw=source, values=values
            )
            rows.refuse(position, finding)


def _check_keys(rows: Rows) -> None:
    names = fields.keys(rows.record)
    places: dict[tuple[Any, ...], list[int]] = defaultdict(list)
    for position, key in enumerate(zip(*(_comparable(rows.values[name]) for name in names), strict=True)):
        places[key].append(position)
    for key, positions in places.items():
        if len(positions) == 1 or key[0] is None:
            continue
        *first, last = (rows.table.lines[position] for position in positions)
        shown = " / ".join(str(part) for part in key if part is not None)
        values = {"key": shown, "rows": ", ".join(map(str, first))}
        finding = as_written(rows, positions[-1], findings.DoubleKey(row=last, column=names[0], values=values))
        rows.findings.append(finding)
        for position in positions:
            rows.refused.setdefault(position, []).append(finding)


def _comparable(values: Array) -> list[Any]:
    """Return values so that blanks equal each other."""
    return [None if value != value else value for value in values.tolist()]  # noqa: PLR0124  NaN differs from itself
