"""From a file's table to rows: columns matched and read, their values placed and checked. Nothing here writes."""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor

from evener.ingest import ceilings, findings
from evener.ingest.columns import by_cells, columns, headers, naming
from evener.ingest.columns.columns import Column
from evener.ingest.columns.field_cells import Setting
from evener.ingest.columns.headers import Match
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files.readers import Table
from evener.ingest.findings import Finding
from evener.ingest.rows import by_hand, estimates, marks, placing, severity
from evener.ingest.rows.checks import every
from evener.ingest.rows.known import Known
from evener.ingest.rows.rows import OWN_FIELDS, STATED, Rows, TooManyRefused
from evener.ingest.text.held_values import put
from evener.ingest.text.places import heading_of
from evener.ingest.text.texts import Texts
from evener.schema import fields

_OPTIONS = {"kind": ", or give it for the whole file with --kind", "owner": ", or give it with --owner"}
_NOTHING_SETTLED = FileMapping()
_MOST_THREADS = 4
_SHOWN = 60  # characters of the first line
_EXAMPLES = {
    "tractor": "Number,Description,PTO hp,Drive,Weight (lb)",
    "implement": "Number,Type,Description,Width (ft),PTO hp,Weight (lb)",
}


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
    matches = naming.without_weaker(matches, mapping.columns)
    matches, named = naming.settled(matches, table.columns, record, mapping.columns)
    matches, table = _translated(matches, table, mapping)
    told = by_cells.understood(matches, table.columns, record, mapping.columns, known.families)
    matches, table = told.matches, dataclasses.replace(table, columns=tuple(told.columns))
    if _has_no_headings(matches, record, mapping):
        first = " | ".join(heading_of(header) for header in table.headers)[:_SHOWN]
        asked = findings.NoHeadings(values={"first": first, "example": _EXAMPLES[record]})
        return Rows(record, table, matches, [asked], owner, kind, Setting(mapping.decimal, mapping.measures))
    noticed = [one for one in noticed if not _is_answered(one, matches, told.answered)]
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
        if not settled:
            read_as = [(one, table.columns[one.position]) for one in used]
            settled = columns.decimal_mark(read_as, mapping.measures, typed=settled is not None)
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
        marked, late = by_hand.into_columns(rows, read, known)
        noted = [*placing.place(rows, read), *marked]
        for said in late:
            rows.values[said.field] = put(rows.values[said.field], said.position, said.value)
        placing.fill(rows, given)
        placing.spell_owners(rows, known)
        if record == "tractor" and known.ratios:
            rows.values["pto_power_kw"], estimated = estimates.pto_power(rows.values, known.ratios)
            noted += [marks.Mark(where, "pto_power_kw", sure) for where, sure in estimated]
        if noted:
            rows.values["estimated"] = marks.marked(rows.values["estimated"], noted)
        every.check(rows, known)
    except TooManyRefused:
        rows.refused.clear()
        rows.findings.append(findings.TooManyRefused(values={"most": ceilings.MOST_REFUSED}))
    rows.findings.sort(key=_line)
    return rows


def _has_no_headings(matches: Sequence[Match], record: str, mapping: FileMapping) -> bool:
    """Tell whether nothing in what was taken for the headings is one, so that it may be a machine."""
    named = any(one.field is not None for one in matches) or bool(mapping.columns)
    return record in _EXAMPLES and not named and len(matches) > 0


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


def _is_answered(finding: Finding, matches: Sequence[Match], answered: Collection[str]) -> bool:
    """Tell whether a finding on a heading is answered by the cells under it."""
    of_heading = isinstance(finding, findings.BarePower | findings.UnknownColumn)
    if not of_heading:
        return False
    taken = any(one.header == finding.column and one.field is not None for one in matches)
    return taken or finding.column in answered


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
