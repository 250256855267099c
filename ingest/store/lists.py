"""One file that holds several lists: sheets of a workbook, or tractors and implements together; all of them or none."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from evener.ingest.columns import headers
from evener.ingest.columns.mappings import FileMapping, placed
from evener.ingest.files import readers
from evener.ingest.files.readers import Table
from evener.ingest.rows import mixed
from evener.ingest.rows.known import Known, known_in
from evener.ingest.rows.preparing import prepare
from evener.ingest.rows.rows import Rows
from evener.ingest.store import quarantine, senders
from evener.ingest.store.batches import (
    After,
    load,
    not_loaded,
    record_named,
    would_load,
)
from evener.ingest.store.put_right import dismissing, remembering
from evener.ingest.store.report import IngestReport, WholeList
from evener.schema import fields
from evener.schema.identity import plain_owner
from evener.schema.store import connection as store
from evener.schema.store import copies, corrections
from evener.schema.store import senders as senders_of

MACHINES = "machines"  # tractors and implements together
_NOTHING_SETTLED = FileMapping()


def ingest_list(
    store_path: Path,
    file: Path,
    *,
    record: str = "tractors",
    owner: str | None = None,
    kind: str | None = None,
    mapping: FileMapping = _NOTHING_SETTLED,
    sheet: str | None = None,
    dry_run: bool = False,
    whole: WholeList | None = None,
    after: After | None = None,
) -> tuple[IngestReport, ...]:
    """Load every list of a file into a store: one transaction, a report for each list.

    Parameters
    ----------
    store_path, file, owner, kind, mapping, dry_run, after : as `batches.ingest_file`
    record : tractors, implements, the name of a table of parameters, or machines for tractors and implements together
    sheet : the one sheet of a workbook to read; all that hold lists when left out
    whole : given where the file is all its owner has

    Raises
    ------
    ValueError, KeyError, evener.ingest.files.readers.UnreadableFile, evener.schema.store.connection.StoreError
        As `batches.ingest_file`; nothing was changed.
    """
    records = mixed.RECORDS if record == MACHINES else (record_named(record),)
    if not dry_run:
        store.check_writable(store_path)
    with store.open_read(store_path) as con:
        known = known_in(con)
        whose = known.owners.get(plain_owner(owner), owner) if owner is not None else None
        recognise = [
            headers.knows(meant, {**senders.headings(con, whose, meant), **_of(mapping, meant).columns})
            for meant in records
        ]
    tables = readers.read_all(
        file,
        sheet=sheet or mapping.sheet,
        knows=lambda text: any(knows(text) for knows in recognise),
        decimal=mapping.decimal,
    )
    parts = [part for table in tables for part in _parts(table, record, records, known)]
    prepared: list[Rows] = []
    answered: dict[int, remembering.Before] = {}
    for meant, table in _parts_left(store_path, parts, whose):
        asked = placed(_of(mapping, meant), table)
        said = (asked, owner, kind)
        waits: remembering.Before = {}
        if quarantine.is_corrected(table):
            with store.open_read(store_path) as con:
                said = quarantine.as_before(con, table, meant, asked, owner, kind)
                waits = remembering.waiting_for(con, table, meant)
        else:
            with store.open_read(store_path) as con:
                said = (senders.recalled(con, table, meant, whose, asked), owner, kind)
        of_kind = said[2] if "kind" in fields.of(meant) else None
        of_owner = said[1] if "owner" in fields.of(meant) else None
        prepared.append(prepare(table, meant, known, owner=of_owner, kind=of_kind, mapping=_of(said[0], meant)))
        answered[id(prepared[-1])] = waits
    usable = [rows for rows in prepared if not rows.unusable]
    if dry_run or not usable:
        with store.open_read(store_path) as con:
            return tuple(
                not_loaded(rows) if rows.unusable else would_load(con, rows, _whole(rows, usable, whole))
                for rows in prepared
            )
    copies.keep_previous(store_path)
    reports: dict[int, IngestReport] = {}
    with store.open_write(store_path) as con:
        for rows in usable:
            own = frozenset(report.batch_id for report in reports.values() if report.batch_id is not None)
            done = load(con, rows, after=after, beside=own, whole=_whole(rows, usable, whole))
            reports[id(rows)] = done
            if done.batch_id is not None:
                made = remembering.corrected(rows, answered[id(rows)], done.batch_id)
                corrections.keep(con, list(made))
            asked = placed(_of(mapping, rows.record), rows.table)
            senders_of.remember(con, senders.settled(rows.record, whose, asked, done.batch_id))
    return tuple(reports.get(id(rows)) or not_loaded(rows) for rows in prepared)


def _parts_left(store_path: Path, parts: list[tuple[str, Table]], owner: str | None) -> list[tuple[str, Table]]:
    """Return the lists without the rows that were dismissed before; one written out for correction stays whole."""
    with store.open_read(store_path) as con:
        return [
            (meant, table if quarantine.is_corrected(table) else dismissing.without(con, table, meant, owner))
            for meant, table in parts
        ]


def _whole(rows: Rows, usable: list[Rows], whole: WholeList | None) -> WholeList | None:
    """Return whether a list is whole: several lists of one kind in a file are not, each by itself."""
    return whole if [one.record for one in usable].count(rows.record) == 1 else None


def _of(mapping: FileMapping, record: str) -> FileMapping:
    """Return a mapping without the headings that it settles for another kind of record."""
    own = {
        header: said for header, said in mapping.columns.items() if not said.field or said.field in fields.of(record)
    }
    return dataclasses.replace(mapping, columns=own)


def _parts(table: Table, record: str, records: tuple[str, ...], known: Known) -> list[tuple[str, Table]]:
    if record != MACHINES:
        return [(records[0], mixed.without_other(table, records[0], known.families))]
    told = list(mixed.parted(table, known.families).items())
    if len(told) == 1 and told[0][1].headers == table.headers:
        return told
    # What was noticed of the file as a whole is told once.
    meant, first = told[0]
    told[0] = (
        meant,
        dataclasses.replace(
            first, findings=(*table.findings, *first.findings), refused={**table.refused, **first.refused}
        ),
    )
    return told
