"""One file into the store: all of its good rows or none, in one transaction.

A row with any refusing finding goes to the quarantine whole, as text. The same file again changes nothing; a changed
row supersedes, and the old version stays in the history.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.ingest import findings
from evener.ingest.columns import headers
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files import readers
from evener.ingest.findings import Finding
from evener.ingest.rows import unplaced
from evener.ingest.rows.rows import FILE_SOURCE, OWN_FIELDS, STATED, Rows, as_written, known_in, prepare
from evener.ingest.store import quarantine
from evener.ingest.store.loading import STAGE, check_model, staged
from evener.ingest.text.held_values import Words
from evener.schema import fields
from evener.schema.store import connection as store
from evener.schema.store import copies

if TYPE_CHECKING:
    from evener.schema.store.connection import Connection

After = Callable[["Connection"], object]
_NOTHING_SETTLED = FileMapping()
_HELD, _SAME = "held_rows", "same_rows"
# Plural words of the command line.
RECORDS = {"tractors": "tractor", "implements": "implement", "families": "family", "sources": "source"}
# The same figures from the owner's next file are no correction.
_SAME_SOURCE = (
    "(stage.source_id IS NOT DISTINCT FROM old.source_id"
    f" OR (starts_with(stage.source_id, '{FILE_SOURCE}') AND starts_with(old.source_id, '{FILE_SOURCE}')))"
)


@dataclass(frozen=True)
class IngestReport:
    """What became of one file.

    Attributes
    ----------
    batch_id : the ingest that changed the store, or the earlier one that had loaded the same file, or None
    read : rows read; always loaded + unchanged + superseded + quarantined, unless the headings rule the file out
    loaded : rows new to the store
    unchanged : rows the store held as they are
    superseded : rows that replaced an older version
    quarantined : rows refused
    findings : everything noticed, in the order of the file
    mapping : by heading, the field it fills and the unit of its bare numbers
    rows : the rows as they were read
    """

    batch_id: str | None
    read: int
    loaded: int
    unchanged: int
    superseded: int
    quarantined: int
    findings: tuple[Finding, ...]
    mapping: dict[str, tuple[str | None, str | None]] = field(default_factory=dict)
    rows: Rows | None = field(default=None, repr=False, compare=False)

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {
            "batch_id": self.batch_id,
            "read": self.read,
            "loaded": self.loaded,
            "unchanged": self.unchanged,
            "superseded": self.superseded,
            "quarantined": self.quarantined,
            "findings": [finding.as_dict() for finding in self.findings],
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
        raise ValueError(f"{word!r} cannot be loaded; use one of {', '.join([*RECORDS, *fields.reference_records()])}")
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
    rows = prepare(table, meant, known, owner=owner, kind=kind, mapping=mapping)
    if rows.unusable:
        return _report(rows, None, None)
    if dry_run:
        with store.open_read(store_path) as con, _staged_apart(con, rows, ""):
            return _report(rows, None, _compared(con, rows))
    copies.keep_previous(store_path)
    with store.open_write(store_path) as con:
        return load(con, rows, after=after)


def load(con: Connection, rows: Rows, *, after: After | None = None) -> IngestReport:
    """Write prepared rows inside the transaction of a store open for writing.

    Parameters
    ----------
    con : from `store.open_write` or `store.create`
    rows : from `evener.ingest.rows.rows.prepare`, with headings that rule nothing out
    after : called when implement records changed
    """
    batch_id = _next_batch(con)
    check_model(rows, batch_id)
    with _staged_apart(con, rows, batch_id) as filled:
        compared = _compared(con, rows)
        report = _report(rows, batch_id, compared)
        earlier = _earlier_batch(con, rows)
        again = quarantine.answered(con, rows)
        if not (compared.new or compared.changed) and (earlier or not (report.quarantined or again)):
            return _report(rows, earlier, compared)
        _supersede(con, rows.record, batch_id, compared)
        columns = ", ".join(f'"{name}"' for name in filled)
        fresh = f" WHERE file_row NOT IN (SELECT file_row FROM {_SAME})" if compared.same else ""
        con.execute(f'INSERT INTO "{rows.record}" ({columns}) SELECT {columns} FROM {STAGE}{fresh}')
        unplaced.keep(con, rows, batch_id, {line for (line,) in con.execute(f"FROM {_SAME}").fetchall()})
    _cite(con, rows, batch_id)
    quarantine.settle(con, again, batch_id)
    quarantine.keep(con, rows, batch_id)
    _enter(con, rows, report)
    if after is not None and rows.record in ("implement", "family") and (compared.new or compared.changed):
        after(con)
    return report


@dataclass(frozen=True)
class _Compared:
    new: int
    same: int
    changed: int


def _report(rows: Rows, batch_id: str | None, compared: _Compared | None) -> IngestReport:
    settled = compared or _Compared(0, 0, 0)
    return IngestReport(
        batch_id=batch_id,
        read=rows.read,
        loaded=settled.new,
        unchanged=settled.same,
        superseded=settled.changed,
        quarantined=len(rows.refused) + len(rows.table.refused) if compared else 0,
        findings=tuple(rows.findings),
        mapping=rows.mapping,
        rows=rows,
    )


def _compared(con: Connection, rows: Rows) -> _Compared:
    """Tell the rows that are new from those the store holds, as they are or otherwise."""
    record = rows.record
    names = fields.keys(record)
    stated = [name for name in fields.of(record) if name in names or name not in (*OWN_FIELDS, "source_id")]
    same = f"{_equal(stated)} AND {_SAME_SOURCE}"
    con.execute(f"DROP TABLE IF EXISTS {_HELD}")
    con.execute(
        f"CREATE TEMP TABLE {_HELD} AS SELECT stage.file_row, bool_or({same}) AS same"
        f' FROM {STAGE} stage JOIN "{record}" old ON {_named(record)} GROUP BY stage.file_row'
    )
    con.execute(f"CREATE OR REPLACE TEMP VIEW {_SAME} AS SELECT file_row FROM {_HELD} WHERE same")
    held, unchanged = con.execute(f"SELECT count(*), count(*) FILTER (WHERE same) FROM {_HELD}").fetchall()[0]
    return _Compared(new=len(rows.good()) - held, same=unchanged, changed=held - unchanged)


def _equal(names: Iterable[str]) -> str:
    return " AND ".join(f'stage."{name}" IS NOT DISTINCT FROM old."{name}"' for name in names)


def _named(record: str) -> str:
    """Return the condition that a staged row and a record have one name, whose first part is never blank."""
    first, *others = fields.keys(record)
    return " AND ".join(part for part in (f'stage."{first}" = old."{first}"', _equal(others)) if part)


@contextmanager
def _staged_apart(con: Connection, rows: Rows, batch_id: str) -> Iterator[list[str]]:
    """Offer the good rows as `stage`, without those that would take the place of somebody else's record."""
    with staged(con, rows, batch_id) as filled:
        if not _refuse_names_taken(con, rows):
            yield filled
            return
    with staged(con, rows, batch_id) as filled:
        yield filled


def _refuse_names_taken(con: Connection, rows: Rows) -> bool:
    """Refuse staged rows that have the name of a record of another kind or owner, and tell whether there are any."""
    whose = [name for name in ("kind", "owner") if name in fields.of(rows.record)]
    if not whose:
        return False
    key = fields.keys(rows.record)[0]
    shown = ", ".join(f'old."{name}"' if name in whose else "NULL" for name in ("kind", "owner"))
    differs = " OR ".join(f'stage."{name}" IS DISTINCT FROM old."{name}"' for name in whose)
    found = con.execute(
        f'SELECT stage.file_row, stage."{key}", {shown} FROM {STAGE} stage JOIN "{rows.record}" old'
        f" ON {_named(rows.record)} WHERE {differs} ORDER BY 1"
    ).fetchall()
    if not found:
        return False
    positions = {line: position for position, line in enumerate(rows.table.lines.tolist())}
    for line, name, kind, owner in found:
        values = {"key": name, "kind": kind or rows.record, "owner": f" of {owner}" if owner else ""}
        taken = findings.NameTaken(row=line, column=key, raw=name, values=values)
        rows.refuse(positions[line], as_written(rows, positions[line], taken))
    rows.findings.sort(key=lambda finding: finding.row or 0)
    return True


def _supersede(con: Connection, record: str, batch_id: str, compared: _Compared) -> None:
    if not compared.changed:
        return
    changed = f"{_named(record)} AND stage.file_row NOT IN (SELECT file_row FROM {_SAME})"
    key = ", ".join(f'old."{name}"' for name in fields.keys(record))
    con.execute(
        f"INSERT INTO history SELECT $1, concat_ws(' / ', {key}), old.batch_id, $2, to_json(old)"
        f' FROM "{record}" old JOIN {STAGE} stage ON {changed}',
        [record, batch_id],
    )
    con.execute(f'DELETE FROM "{record}" old USING {STAGE} stage WHERE {changed}')


def _cite(con: Connection, rows: Rows, batch_id: str) -> None:
    """Enter the files that loaded rows cite as sources, the file itself among them."""
    cited = rows.values.get("source_id")
    if rows.record == "source" or not isinstance(cited, Words):
        return
    for source_id in cited.words:
        if source_id.startswith(FILE_SOURCE):
            con.execute(
                "INSERT INTO source (source_id, citation, status, batch_id) SELECT $1, $2, $3, $4"
                f' WHERE EXISTS (SELECT 1 FROM "{rows.record}" WHERE source_id = $1 AND batch_id = $4 LIMIT 1)'
                " AND NOT EXISTS (SELECT 1 FROM source WHERE source_id = $1)",
                [source_id, f"{source_id.removeprefix(FILE_SOURCE)}, as its owner states it", STATED, batch_id],
            )


def _next_batch(con: Connection) -> str:
    last = con.execute("SELECT max(CAST(batch_id[2:] AS INTEGER)) FROM batch").fetchall()[0][0]
    return f"B{(last or 0) + 1:04d}"


def _earlier_batch(con: Connection, rows: Rows) -> str | None:
    """Return the ingest that loaded the same bytes in the same way."""
    found = con.execute(
        "SELECT batch_id FROM batch WHERE file_sha256 = ? AND record = ? AND owner IS NOT DISTINCT FROM ?"
        " AND kind IS NOT DISTINCT FROM ? AND mapping = ? ORDER BY batch_id DESC LIMIT 1",
        [rows.table.sha256, rows.record, rows.owner, rows.kind, json.dumps(rows.settled, ensure_ascii=False)],
    ).fetchall()
    return found[0][0] if found else None


def _enter(con: Connection, rows: Rows, report: IngestReport) -> None:
    values = {
        "batch_id": report.batch_id,
        "record": rows.record,
        "file_name": rows.table.name,
        "file_sha256": rows.table.sha256,
        "loaded_at": datetime.now(UTC).replace(tzinfo=None, microsecond=0),
        "owner": rows.owner,
        "kind": rows.kind,
        "encoding": rows.table.encoding,
        "decimal": rows.setting.decimal or None,
        "measures": rows.setting.measures,
        "mapping": json.dumps(rows.settled, ensure_ascii=False),
        "read": report.read,
        "loaded": report.loaded,
        "unchanged": report.unchanged,
        "superseded": report.superseded,
        "quarantined": report.quarantined,
    }
    names = ", ".join(f'"{name}"' for name in values)
    con.execute(f"INSERT INTO batch ({names}) VALUES ({', '.join('?' for _ in values)})", list(values.values()))
