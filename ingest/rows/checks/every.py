"""What is wrong with placed rows: blanks where a value must be, rules, sources, names that stand twice, odd figures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evener.ingest import findings
from evener.ingest.columns.field_cells import near
from evener.ingest.finding import MOST_LINES, listed
from evener.ingest.rows.checks import keys, remarks, rules
from evener.ingest.rows.known import Known
from evener.ingest.rows.rows import OWN_FIELDS, Rows, as_written
from evener.ingest.text.held_values import Words, is_blank
from evener.schema import fields
from evener.schema.store.batches import FILE_SOURCE


def check(rows: Rows, known: Known) -> None:
    """Note what is wrong with placed rows; the rows it refuses are set apart.

    Parameters
    ----------
    rows : rows with their values placed
    known : what the store holds
    """
    lines = rows.table.lines
    for one in fields.of(rows.record).values():
        if not one.required or one.name in OWN_FIELDS:
            continue
        for position in np.flatnonzero(is_blank(rows.values[one.name])).tolist():
            # A cell that could not be read is blank here, and has its finding already.
            if not any(finding.column in _headings(rows, one.name) for finding in rows.refused.get(position, ())):
                values = {"field": one.name, "meaning": one.meaning}
                blank = findings.MissingValue(row=int(lines[position]), column=one.name, values=values)
                rows.refuse(position, as_written(rows, position, blank))
    for position, finding in rules.check(rows.record, rows.values, lines):
        rows.refuse(position, as_written(rows, position, finding))
    if rows.record != "source":
        _check_sources(rows, known)
    keys.tell_owners_apart(rows.record, rows.values)
    for position, others in keys.doubles(rows.record, rows.values):
        _refuse_double(rows, position, others)
    keep = np.ones(rows.count, bool)
    keep[list(rows.refused)] = False
    for position, finding in known.peers.check(rows.record, rows.values, lines, keep):
        rows.refuse(position, as_written(rows, position, finding))
    for position, finding in remarks.on_figures(rows.record, rows.values, lines, rows.by_hand):
        rows.refuse(position, finding)


def _headings(rows: Rows, name: str) -> set[str]:
    return {one.header for one in rows.matches if one.field is not None and one.field.name == name}


def _check_sources(rows: Rows, known: Known) -> None:
    cited = rows.values["source_id"]
    if not isinstance(cited, Words):
        raise TypeError("a source is named by words")
    for source in cited.words:
        # An export cites the files its records came from; each of them is a source of its own.
        if source in known.sources or source.startswith(FILE_SOURCE):
            continue
        hint = near(source, sorted(known.sources))
        for position in np.flatnonzero(cited.is_word(source)).tolist():
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
