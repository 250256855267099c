"""A file's rows as records of one kind: matched, parsed, checked, with the refused ones set apart.

Nothing here writes. What the check needs of the store (families, sources, power ratios) is read beforehand, so that a
store is held open for writing only while rows go in.
"""

from __future__ import annotations

import dataclasses
import os
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evener.ingest import ceilings, findings
from evener.ingest.columns import by_cells, columns, headers, naming
from evener.ingest.columns.columns import Column
from evener.ingest.columns.headers import Match, fold
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files.readers import Table
from evener.ingest.finding import MOST_KEPT, MOST_LINES, Alike, folded, listed
from evener.ingest.findings import Finding
from evener.ingest.rows import estimates, keys, marks, peers, remarks, rules, severity
from evener.ingest.text import money
from evener.ingest.text.field_cells import Setting, near
from evener.ingest.text.held_values import Values, Words, blanks, is_blank
from evener.ingest.text.texts import Texts
from evener.schema import fields
from evener.schema.certainty import ABOUT
from evener.schema.identity import plain_owner
from evener.schema.store import connection as store
from evener.schema.store import owners
from evener.schema.store.batches import FILE_SOURCE

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

OWN_FIELDS = ("batch_id", "file_row")
STATED = "stated"
_OPTIONS = {"kind": ", or give it for the whole file with --kind", "owner": ", or give it with --owner"}


_NOTHING_SETTLED = FileMapping()
_MOST_THREADS = 4


@dataclass(frozen=True)
class Known:
    """What a store holds that rows are checked against.

    Attributes
    ----------
    families : family by each of its names, folded
    sources : ids of the sources
    ratios : PTO over engine power; empty where the store has no such table filled
    peers : what records of the same kind and size have
    owners : owners as they are written, by their plain names
    """

    families: Mapping[str, str]
    sources: frozenset[str]
    ratios: Mapping[tuple[bool, str | None], estimates.Ratio]
    peers: peers.Peers
    owners: Mapping[str, str] = field(default_factory=dict)


def known_in(con: Connection) -> Known:
    """Return what an open store knows."""
    meant: dict[str, set[str]] = defaultdict(set)
    for family in store.read_families(con).values():
        for name in (family.family, family.label, *family.names):
            meant[fold(name)].add(family.family)
    for row in fields.spellings():
        if row["record"] == "family":
            for word in row["spelling"].split(";"):
                meant[fold(word)].add(row["value"])
    # A name that two families share settles nothing, and is not known.
    words = {name: min(families) for name, families in meant.items() if len(families) == 1}
    table = store.read_rows(con, "power_ratios")
    return Known(
        families=words,
        sources=frozenset(row["source_id"] for row in store.read_rows(con, "source")),
        ratios=estimates.pto_ratios(table) if table else {},
        peers=peers.peers_in(con),
        owners={plain_owner(owner): owner for owner in sorted(owners.owners(con))},
    )


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


def prepare(
    table: Table,
    record: str,
    known: Known,
    *,
    owner: str | None = None,
    kind: str | None = None,
    mapping: FileMapping = _NOTHING_SETTLED,
) -> Rows:
    """Return a file's rows as records, with everything that is wrong with them.

    Parameters
    ----------
    table : the file
    record : kind of record its rows are
    known : what the store holds
    owner, kind : given for the whole file; a cell goes before them
    mapping : settled by hand
    """
    matches, noticed = headers.match(table.headers, record, mapping.columns, table.units, mapping.measures)
    matches, named = naming.settled(matches, table.columns, record, mapping.columns)
    matches, table = _translated(matches, table, mapping)
    told = by_cells.understood(matches, table.columns, record, mapping.columns, known.families)
    matches, table = told.matches, dataclasses.replace(table, columns=tuple(told.columns))
    noticed = [one for one in noticed if not _is_answered(one, matches)]
    doubled = naming.doubles(matches[: len(table.headers)])
    noticed = [severity.of_heading(record, one, matches) for one in (*noticed, *named, *told.noticed, *doubled)]
    unsure = {one.values["field"] for one in noticed if isinstance(one, findings.DoubleColumn) and one.unread}
    matches = [
        dataclasses.replace(one, field=None) if one.field is not None and one.field.name in unsure else one
        for one in matches
    ]
    setting = Setting(mapping.decimal, mapping.measures)
    rows = Rows(record, table, matches, [*noticed, *table.findings], owner, kind, setting)
    given = _given(rows)
    rows.findings += _missing_columns(rows, given)
    rows.findings.sort(key=_line)
    if rows.unusable:
        return rows
    used = [one for one in matches if one.field is not None and one.field.name not in OWN_FIELDS]
    if not mapping.decimal:
        settled = table.decimal
        if settled is None:
            settled = columns.decimal_mark([(one, table.columns[one.position]) for one in used], mapping.measures)
        rows.setting = Setting(settled, mapping.measures)

    def read_one(one: Match) -> Column | Finding:
        family = record == "implement" and one.field is not None and one.field.name == "family"
        return columns.read_column(
            one,
            table.columns[one.position],
            setting=rows.setting,
            words=known.families if family else None,
            lines=table.lines,
        )

    read: list[tuple[Match, Column]] = []
    with ThreadPoolExecutor(min(_MOST_THREADS, os.cpu_count() or 1)) as threads:
        found = list(threads.map(read_one, used))
    for one, column in zip(used, found, strict=True):
        if isinstance(column, Finding):
            rows.findings.insert(0, severity.of_heading(record, column, matches))
            rows.unplace(one)
        else:
            read.append((one, column))
    if rows.unusable:
        return rows
    try:
        noted = _place(rows, read)
        _fill(rows, given)
        _spell_owners(rows, known)
        if record == "tractor" and known.ratios:
            rows.values["pto_power_kw"], estimated = estimates.pto_power(rows.values, known.ratios)
            noted += [marks.Mark(where, "pto_power_kw", sure) for where, sure in estimated]
        if noted:
            rows.values["estimated"] = marks.marked(rows.values["estimated"], noted)
        _check(rows, known)
    except TooManyRefused:
        rows.refused.clear()
        rows.findings.append(findings.TooManyRefused(values={"most": ceilings.MOST_REFUSED}))
    rows.findings.sort(key=_line)
    return rows


def _translated(matches: list[Match], table: Table, mapping: FileMapping) -> tuple[list[Match], Table]:
    """Return the columns with the words that a mapping gives for their cells; the file's own text stays beside."""
    columns, moved = list(table.columns), []
    for one in matches:
        words = {" ".join(text.split()).casefold(): word for text, word in mapping.values.get(one.header, {}).items()}
        if words:
            held = columns[one.position]
            said = [words.get(" ".join(text.split()).casefold(), text) for text in held.distinct]
            columns.append(Texts(held.codes, said))
            moved.append(dataclasses.replace(one, position=len(columns) - 1))
        else:
            moved.append(one)
    return moved, dataclasses.replace(table, columns=tuple(columns))


def _is_answered(finding: Finding, matches: Sequence[Match]) -> bool:
    """Tell whether a finding on a heading is answered by the cells under it."""
    of_heading = isinstance(finding, findings.BarePower | findings.UnknownColumn)
    return of_heading and any(one.header == finding.column and one.field is not None for one in matches)


def _line(finding: Finding) -> int:
    return finding.row or 0


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


def _positions(mask: NDArray[np.bool_]) -> list[int]:
    return [int(position) for position in np.flatnonzero(mask)]


def _place(rows: Rows, read: Sequence[tuple[Match, Column]]) -> list[marks.Mark]:
    """Put every column in its field's place, ranges at both their ends, and blanks where the file has no column.

    Returns what is to be marked as estimated.
    """
    noted: list[marks.Mark] = []
    rows.values = blanks(fields.of(rows.record).values(), rows.count)
    for _, column in read:
        rows.values[column.field.name] = column.values
        rows.take_findings(column)
    for one, column in read:
        if column.upper is not None and column.field.upper is not None:
            _place_upper(rows, one, column.field.upper, column.upper)
        if column.about is not None:
            if "estimated" in rows.values:
                noted.append(marks.Mark(column.about, column.field.name, ABOUT))
            else:
                for position in _positions(column.about):
                    _refuse_range(rows, one, position)
        if one.field is not None and one.field.unit == "currency" and "currency" in rows.values:
            _place_currency(rows, one)
        for name, value in one.implies.items():
            held = rows.values[name]
            if isinstance(held, Words):
                rows.values[name] = held.filled(~is_blank(column.values) & is_blank(held), value)
    return noted


def _place_currency(rows: Rows, one: Match) -> None:
    """Put the currency that the cells of a price name, else the one its heading names, where no column says it."""
    held, column = rows.values["currency"], rows.table.columns[one.position]
    if not isinstance(held, Words):
        raise TypeError("a currency is a word")
    usual = money.currency(one.unit or one.header)
    said = Words.coded(column.codes, [money.currency(text) or usual for text in column.distinct])
    priced = ~is_blank(rows.values[one.field.name if one.field else "price"]) & is_blank(held)
    for code in {word for word in said.words if word}:
        held = held.filled(priced & said.is_word(code), code)
    rows.values["currency"] = held


def _place_upper(rows: Rows, one: Match, name: str, upper: Values) -> None:
    """Put the upper ends of ranges in their field; a row that states both a range and an upper end says two things."""
    ends = rows.values[name]
    given = ~is_blank(upper)
    for position in _positions(given & ~is_blank(ends)):
        _refuse_range(rows, one, position)
    if isinstance(upper, Words) and isinstance(ends, Words):
        for word in upper.words:
            ends = ends.filled(upper.is_word(word), word)
        rows.values[name] = ends
    elif not isinstance(upper, Words) and not isinstance(ends, Words):
        rows.values[name] = np.where(given, upper, ends)


def _refuse_range(rows: Rows, one: Match, position: int) -> None:
    text = rows.table.columns[one.position][position]
    name = one.field.name if one.field else ""
    line = int(rows.table.lines[position])
    problem = findings.RangeNotKept(row=line, column=one.header, raw=text, values={"field": name})
    rows.refuse(position, problem)


def _fill(rows: Rows, given: Mapping[str, str]) -> None:
    for name, value in given.items():
        held = rows.values[name]
        if isinstance(held, Words):
            rows.values[name] = held.filled(is_blank(held), value)


def _spell_owners(rows: Rows, known: Known) -> None:
    """Write each owner as the store has it, where the spellings differ in case and blanks alone."""
    held = rows.values.get("owner")
    if not isinstance(held, Words):
        return
    words = [known.owners.get(plain_owner(word), word) for word in held.words]
    for said, owner in zip(held.words, words, strict=True):
        if said != owner:
            rows.findings.append(findings.OwnerSpelled(values={"said": said, "owner": owner}))
    if words != list(held.words):
        rows.values["owner"] = Words.coded(held.codes, words)
        rows.owner = known.owners.get(plain_owner(rows.owner), rows.owner) if rows.owner else None


def _check(rows: Rows, known: Known) -> None:
    lines = rows.table.lines
    for one in fields.of(rows.record).values():
        if not one.required or one.name in OWN_FIELDS:
            continue
        for position in _positions(is_blank(rows.values[one.name])):
            # A cell that could not be read is blank here, and has its finding already.
            if not any(finding.column in _headings(rows, one.name) for finding in rows.refused.get(position, ())):
                values = {"field": one.name, "meaning": one.meaning}
                blank = findings.MissingValue(row=int(lines[position]), column=one.name, values=values)
                rows.refuse(position, as_written(rows, position, blank))
    for position, finding in rules.check(rows.record, rows.values, lines):
        rows.refuse(position, as_written(rows, position, finding))
    if rows.record != "source":
        _check_sources(rows, known)
    for position, others in keys.doubles(rows.record, rows.values):
        _refuse_double(rows, position, others)
    keep = np.ones(rows.count, bool)
    keep[list(rows.refused)] = False
    for position, finding in known.peers.check(rows.record, rows.values, lines, keep):
        rows.refuse(position, as_written(rows, position, finding))
    for position, finding in remarks.on_figures(rows.record, rows.values, lines):
        rows.refuse(position, finding)


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
    if not isinstance(cited, Words):
        raise TypeError("a source is named by words")
    for source in cited.words:
        # An export cites the files its records came from; each of them is a source of its own.
        if source in known.sources or source.startswith(FILE_SOURCE):
            continue
        hint = near(source, sorted(known.sources))
        for position in _positions(cited.is_word(source)):
            values = {"target": "source", "near": hint, "listed": "sources"}
            line = int(rows.table.lines[position])
            finding = findings.UnknownReference(row=line, column="source_id", raw=source, values=values)
            rows.refuse(position, finding)


def _refuse_double(rows: Rows, position: int, others: Sequence[int]) -> None:
    """Refuse rows of one name by one finding, which stands on the last of them."""
    names = fields.keys(rows.record)
    shown = " / ".join(str(part) for part in (rows.values[name][position] for name in names) if part is not None)
    stand = [int(rows.table.lines[other]) for other in (*others[:MOST_LINES], position)]
    values = {"key": shown, "number": f"{len(others) + 1:,}", "rows": listed(sorted(stand), len(others) + 1)}
    line = int(rows.table.lines[position])
    finding = as_written(rows, position, findings.DoubleKey(row=line, column=names[0], values=values))
    rows.refuse(position, finding)
    for each in others:
        rows.set_apart(each, finding)
