"""One file into the store: all of its good rows or none, in one transaction.

A row with any refusing finding goes to the quarantine whole, as text. The same file again changes nothing; a changed
row supersedes, and the old version stays in the history.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from evener.ingest import findings
from evener.ingest.columns import headers
from evener.ingest.columns.mappings import FileMapping, placed
from evener.ingest.files import readers
from evener.ingest.rows import unplaced
from evener.ingest.rows.known import known_in
from evener.ingest.rows.preparing import prepare
from evener.ingest.rows.rows import OWN_FIELDS, Rows, as_written
from evener.ingest.store import entering, identity, quarantine, snapshot
from evener.ingest.store.loading import check_model, staged
from evener.ingest.store.report import COUNTS, IngestReport, WholeList
from evener.ingest.store.snapshot import Difference
from evener.schema import fields
from evener.schema.store import batches as entries
from evener.schema.store import connection as store
from evener.schema.store import copies
from evener.schema.store import snapshot as taking_out

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

After = Callable[["Connection"], object]
_NOTHING_SETTLED = FileMapping()
_FITTED = ("implement", "family", "verdict")  # what the ratings follow
# Plural words of the command line.
RECORDS = {
    "tractors": "tractor",
    "implements": "implement",
    "families": "family",
    "sources": "source",
    "verdicts": "verdict",
}


def record_named(word: str) -> str:
    """Return the kind of record a word of the command line means.

    Raises
    ------
    ValueError
        It means none.
    """
    record = RECORDS.get(word, word)
    if record not in fields.loaded_records():
        raise ValueError(f"{word!r} cannot be loaded; it takes {', '.join(RECORDS)}, or a table of parameters")
    return record


def ingest_file(
    store_path: Path,
    file: Path,
    *,
    record: str = "tractors",
    owner: str | None = None,
    kind: str | None = None,
    mapping: FileMapping = _NOTHING_SETTLED,
    sheet: str | None = None,
    dry_run: bool = False,
    after: After | None = None,
) -> IngestReport:
    """Load one file into a store.

    Parameters
    ----------
    store_path : the store
    file : delimited text, an XLSX workbook or a Parquet file; "-" for standard input
    record : what its rows are: tractors, implements, or the name of a table of parameters
    owner : whose they are, where the file does not say
    kind : kind of tractor record, where the file does not say
    mapping : settled by hand
    sheet : sheet of a workbook; goes before the mapping's
    dry_run : read, check and compare, and change nothing
    after : called inside the transaction when implement records changed

    Raises
    ------
    ValueError
        No such kind of record.
    KeyError
        The mapping names a field the record does not have.
    evener.ingest.files.readers.UnreadableFile
        The file holds no table.
    evener.schema.store.connection.StoreError
        The store cannot be used; nothing was changed.
    """
    meant = record_named(record)
    if not dry_run:
        store.check_writable(store_path)
    with store.open_read(store_path) as con:
        known = known_in(con)
    table = readers.read(
        file,
        sheet=sheet or mapping.sheet,
        knows=headers.knows(meant, mapping.columns),
        decimal=mapping.decimal,
    )
    if quarantine.is_corrected(table):
        with store.open_read(store_path) as con:
            mapping, owner, kind = quarantine.as_before(con, table, meant, mapping, owner, kind)
    mapping = placed(mapping, table)
    rows = prepare(table, meant, known, owner=owner, kind=kind, mapping=mapping)
    if rows.unusable:
        return not_loaded(rows)
    if dry_run:
        with store.open_read(store_path) as con:
            return would_load(con, rows)
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        return load(con, rows, after=after)


def not_loaded(rows: Rows) -> IngestReport:
    """Return the report of rows that what is wrong with their headings keeps out."""
    return _report(rows, None, None)


def would_load(con: Connection, rows: Rows, whole: WholeList | None = None) -> IngestReport:
    """Return what loading prepared rows would do; nothing is changed.

    Parameters
    ----------
    con : an open store
    rows : prepared rows
    """
    with _staged_apart(con, rows, ""):
        told = _difference(con, rows, whole)
        return _report(rows, None, _compared(con, rows), told)


def _difference(con: Connection, rows: Rows, whole: WholeList | None) -> Difference | None:
    if whole is None or rows.record not in snapshot.RECORDS:
        return None
    told, doubts = snapshot.difference(con, rows, most_gone=whole.most_gone)
    rows.findings += doubts
    return told


def load(
    con: Connection,
    rows: Rows,
    *,
    after: After | None = None,
    beside: frozenset[str] = frozenset(),
    whole: WholeList | None = None,
) -> IngestReport:
    """Write prepared rows inside the transaction of a store open for writing.

    Parameters
    ----------
    con : from `store.open_write` or `store.create`
    rows : from `evener.ingest.rows.preparing.prepare`, with headings that rule nothing out
    after : called when implement records changed
    beside : ingests of other lists in the same file, whose refused rows this one does not answer
    whole : given where the list is all its owner has
    """
    batch_id = entries.next_batch(con)
    check_model(rows, batch_id)
    with _staged_apart(con, rows, batch_id) as filled:
        told = _difference(con, rows, whole)
        compared = _compared(con, rows)
        report = _report(rows, batch_id, compared, told)
        gone = [unit.name for unit in told.gone] if told is not None else []
        earlier = entering.earlier_batch(con, rows)
        again = [one for one in quarantine.answered(con, rows) if one[0] not in beside]
        if not (compared.new or compared.changed or gone) and (earlier or not (report.quarantined or again)):
            return _report(rows, earlier, compared, told)
        if gone:
            taking_out.take_out(con, rows.record, gone, batch_id)
        if compared.changed:
            entries.supersede(con, rows.record, batch_id)
        entries.insert(con, rows.record, filled, some_same=compared.same > 0)
        unplaced.keep(con, rows, batch_id, entries.same_lines(con))
    entering.cite(con, rows, batch_id)
    quarantine.settle(con, again, batch_id)
    quarantine.keep(con, rows, batch_id)
    counts = {name: getattr(report, name) for name in COUNTS}
    entering.enter(con, rows, counts, batch_id)
    if (
        after is not None
        and rows.record in ("implement", "family", "verdict")
        and (compared.new or compared.changed or gone)
    ):
        after(con)
    return report


@dataclass(frozen=True)
class _Compared:
    new: int
    same: int
    changed: int


def _report(
    rows: Rows, batch_id: str | None, compared: _Compared | None, difference: Difference | None = None
) -> IngestReport:
    settled = compared or _Compared(0, 0, 0)
    return IngestReport(
        batch_id=batch_id,
        read=rows.read,
        loaded=settled.new,
        unchanged=settled.same,
        superseded=settled.changed,
        quarantined=len(rows.refused) + len(rows.table.refused) if compared else 0,
        findings=tuple(rows.told),
        mapping=rows.mapping,
        rows=rows,
        difference=difference,
    )


def _compared(con: Connection, rows: Rows) -> _Compared:
    """Tell the rows that are new from those the store holds, as they are or otherwise."""
    names = fields.keys(rows.record)
    stated = [name for name in fields.of(rows.record) if name in names or name not in (*OWN_FIELDS, "source_id")]
    held, unchanged = entries.compare(con, rows.record, stated)
    return _Compared(new=len(rows.good()) - held, same=unchanged, changed=held - unchanged)


@contextmanager
def _staged_apart(con: Connection, rows: Rows, batch_id: str) -> Iterator[list[str]]:
    """Offer the good rows as `stage`, without those that would take the place of somebody else's record."""
    with staged(con, rows, batch_id) as filled:
        if not (identity.with_owners(con, rows) or _refuse_names_taken(con, rows)):
            identity.ask_of_copies(con, rows)
            yield filled
            return
    with staged(con, rows, batch_id) as filled:
        if not _refuse_names_taken(con, rows):
            identity.ask_of_copies(con, rows)
            yield filled
            return
    with staged(con, rows, batch_id) as filled:
        yield filled


def _refuse_names_taken(con: Connection, rows: Rows) -> bool:
    """Refuse staged rows that have the name of a record of another kind or owner, and tell whether there are any."""
    found = entries.taken_names(con, rows.record)
    if not found:
        return False
    positions = {line: position for position, line in enumerate(rows.table.lines.tolist())}
    for line, name, kind, owner in found:
        values = {"key": name, "kind": kind or rows.record, "owner": f" of {owner}" if owner else ""}
        taken = findings.NameTaken(row=line, column=fields.keys(rows.record)[0], raw=name, values=values)
        rows.refuse(positions[line], as_written(rows, positions[line], taken))
    rows.findings.sort(key=lambda finding: finding.row or 0)
    return True
