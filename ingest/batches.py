"""One file into the store: all of its good rows or none, in one transaction.

A row with any refusing finding goes to the quarantine whole, as text. The same file again changes nothing; a changed
row supersedes, and the old version stays in the history.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.ingest import findings, readers
from evener.ingest.findings import Finding
from evener.ingest.headers import Choice
from evener.ingest.rows import FILE_SOURCE, OWN_FIELDS, STATED, Rows, as_written, known_in, prepare
from evener.schema import fields, store

if TYPE_CHECKING:
    from evener.schema.store import Connection

After = Callable[["Connection"], object]
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
    """

    batch_id: str | None
    read: int
    loaded: int
    unchanged: int
    superseded: int
    quarantined: int
    findings: tuple[Finding, ...]
    mapping: dict[str, tuple[str | None, str | None]] = field(default_factory=dict)

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
    mapping: Mapping[str, Choice] | None = None,
    dry_run: bool = False,
    after: After | None = None,
) -> IngestReport:
    """Load one file into a store.

    Parameters
    ----------
    store_path : the store
    file : a file of delimited text
    record : what its rows are: tractors, implements, or the name of a table of parameters
    owner : whose they are, where the file does not say
    kind : kind of tractor record, where the file does not say
    mapping : settled by hand, by heading
    dry_run : read, check and compare, and change nothing
    after : called inside the transaction when implement records changed

    Raises
    ------
    ValueError
        No such kind of record.
    KeyError
        The mapping names a field the record does not have.
    evener.ingest.readers.UnreadableFile
        The file holds no table.
    evener.schema.store.StoreError
        The store cannot be used; nothing was changed.
    """
    meant = record_named(record)
    if not dry_run:
        store.check_writable(store_path)
    with store.open_read(store_path) as con:
        known = known_in(con)
    rows = prepare(readers.read(file), meant, known, owner=owner, kind=kind, choices=mapping)
    if rows.unusable:
        return IngestReport(None, rows.read, 0, 0, 0, 0, tuple(rows.findings), rows.mapping)
    if dry_run:
        with store.open_read(store_path) as con:
            return _report(rows, None, _stage(con, rows, None))
    store.keep_previous(store_path)
    with store.open_write(store_path) as con:
        return load(con, rows, after=after)


def load(con: Connection, rows: Rows, *, after: After | None = None) -> IngestReport:
    """Write prepared rows inside the transaction of a store open for writing.

    Parameters
    ----------
    con : from `store.open_write` or `store.create`
    rows : from `evener.ingest.rows.prepare`, with headings that rule nothing out
    after : called when implement records changed
    """
    batch_id = _next_batch(con)
    staged = _stage(con, rows, batch_id)
    report = _report(rows, batch_id, staged)
    earlier = _earlier_batch(con, rows)
    if not (staged.new or staged.changed) and (earlier or not report.quarantined):
        return _report(rows, earlier, staged)
    _supersede(con, rows.record, batch_id)
    con.execute(f'INSERT INTO "{rows.record}" SELECT * FROM stage WHERE file_row NOT IN (SELECT file_row FROM same)')
    _cite(con, rows, batch_id)
    _quarantine(con, rows, batch_id)
    _enter(con, rows, report)
    if after is not None and rows.record in ("implement", "family") and (staged.new or staged.changed):
        after(con)
    return report


@dataclass(frozen=True)
class _Staged:
    new: int
    same: int
    changed: int


def _report(rows: Rows, batch_id: str | None, staged: _Staged) -> IngestReport:
    return IngestReport(
        batch_id=batch_id,
        read=rows.read,
        loaded=staged.new,
        unchanged=staged.same,
        superseded=staged.changed,
        quarantined=len(rows.refused) + len(rows.table.refused),
        findings=tuple(rows.findings),
        mapping=rows.mapping,
    )


def _stage(con: Connection, rows: Rows, batch_id: str | None) -> _Staged:
    """Put the good rows beside the table they go to, and tell the new from the same and the changed."""
    record = rows.record
    _replace_staged(con, rows, batch_id)
    taken = _names_taken(con, rows)
    if taken:
        for position, finding in taken:
            rows.refuse(position, as_written(rows, position, finding))
        rows.findings.sort(key=lambda finding: finding.row or 0)
        _replace_staged(con, rows, batch_id)
    keys = fields.keys(record)
    on = _equal(keys)
    stated = [name for name in fields.of(record) if name in keys or name not in (*OWN_FIELDS, "source_id")]
    content = f"{_equal(stated)} AND {_SAME_SOURCE}"
    for name, condition in (("same", content), ("held", on)):
        con.execute(f"DROP TABLE IF EXISTS {name}")
        con.execute(
            f'CREATE TEMP TABLE {name} AS SELECT DISTINCT stage.file_row FROM stage JOIN "{record}" old ON {condition}'
        )
    counts = [con.execute(f"SELECT count(*) FROM {name}").fetchall()[0][0] for name in ("stage", "same", "held")]
    return _Staged(new=counts[0] - counts[2], same=counts[1], changed=counts[2] - counts[1])


def _replace_staged(con: Connection, rows: Rows, batch_id: str | None) -> None:
    con.execute("DROP TABLE IF EXISTS stage")
    con.execute(f'CREATE TEMP TABLE stage AS SELECT * FROM "{rows.record}" LIMIT 0')
    _insert(con, "stage", rows.frame(batch_id or ""))


def _equal(names: Iterable[str]) -> str:
    return " AND ".join(f'stage."{name}" IS NOT DISTINCT FROM old."{name}"' for name in names)


def _names_taken(con: Connection, rows: Rows) -> list[tuple[int, Finding]]:
    """Return the rows that would take the place of a record of another kind or owner."""
    whose = [name for name in ("kind", "owner") if name in fields.of(rows.record)]
    if not whose:
        return []
    shown = ", ".join(f'old."{name}"' if name in whose else "NULL" for name in ("kind", "owner"))
    differs = " OR ".join(f'stage."{name}" IS DISTINCT FROM old."{name}"' for name in whose)
    key = fields.keys(rows.record)[0]
    found = con.execute(
        f'SELECT stage.file_row, stage."{key}", {shown} FROM stage JOIN "{rows.record}" old'
        f" ON {_equal([key])} WHERE {differs} ORDER BY 1"
    ).fetchall()
    positions = {line: position for position, line in enumerate(rows.table.lines)}
    return [
        (
            positions[line],
            findings.NameTaken(
                row=line,
                column=key,
                raw=name,
                values={"key": name, "kind": kind or rows.record, "owner": f" of {owner}" if owner else ""},
            ),
        )
        for line, name, kind, owner in found
    ]


def _supersede(con: Connection, record: str, batch_id: str) -> None:
    keys = fields.keys(record)
    changed = f"{_equal(keys)} AND stage.file_row NOT IN (SELECT file_row FROM same)"
    key = ", ".join(f'old."{name}"' for name in keys)
    con.execute(
        f"INSERT INTO history SELECT $1, concat_ws(' / ', {key}), old.batch_id, $2, to_json(old)"
        f' FROM "{record}" old JOIN stage ON {changed}',
        [record, batch_id],
    )
    con.execute(f'DELETE FROM "{record}" old USING stage WHERE {changed}')


def _cite(con: Connection, rows: Rows, batch_id: str) -> None:
    """Enter the file as a source when rows cite it."""
    if rows.record == "source":
        return
    con.execute(
        "INSERT INTO source (source_id, citation, status, batch_id) SELECT $1, $2, $3, $4"
        f' WHERE EXISTS (SELECT 1 FROM "{rows.record}" WHERE source_id = $1)'
        " AND NOT EXISTS (SELECT 1 FROM source WHERE source_id = $1)",
        [rows.source_id, f"{rows.table.name}, as its owner states it", STATED, batch_id],
    )


def _quarantine(con: Connection, rows: Rows, batch_id: str) -> None:
    misshapen = {finding.row: finding for finding in rows.findings if finding.row in rows.table.refused}
    refused = [
        (rows.table.lines[position], rows.table.row(position), found)
        for position, found in sorted(rows.refused.items())
    ] + [
        (line, {f"cell {place}": cell for place, cell in enumerate(cells, 1)}, [misshapen[line]])
        for line, cells in rows.table.refused.items()
    ]
    if not refused:
        return
    import pandas as pd

    lines, raws, found = zip(*sorted(refused, key=lambda one: one[0]), strict=True)
    held = {
        "batch_id": [batch_id] * len(lines),
        "record": [rows.record] * len(lines),
        "file_row": lines,
        "raw": [_json(raw) for raw in raws],
        "findings": [_json([finding.as_dict() for finding in one]) for one in found],
    }
    _insert(con, "quarantine", pd.DataFrame(held))


def _insert(con: Connection, table: str, frame: Any) -> None:
    con.register("prepared", frame)
    con.execute(f"INSERT INTO {table} BY NAME SELECT * FROM prepared")
    con.unregister("prepared")


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _next_batch(con: Connection) -> str:
    last = con.execute("SELECT max(CAST(batch_id[2:] AS INTEGER)) FROM batch").fetchall()[0][0]
    return f"B{(last or 0) + 1:04d}"


def _earlier_batch(con: Connection, rows: Rows) -> str | None:
    """Return the ingest that loaded the same bytes in the same way."""
    found = con.execute(
        "SELECT batch_id FROM batch WHERE file_sha256 = ? AND record = ? AND owner IS NOT DISTINCT FROM ?"
        " AND kind IS NOT DISTINCT FROM ? AND mapping = ? ORDER BY batch_id DESC LIMIT 1",
        [rows.table.sha256, rows.record, rows.owner, rows.kind, _json(rows.mapping)],
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
        "mapping": _json(rows.mapping),
        "read": report.read,
        "loaded": report.loaded,
        "unchanged": report.unchanged,
        "superseded": report.superseded,
        "quarantined": report.quarantined,
    }
    names = ", ".join(f'"{name}"' for name in values)
    con.execute(f"INSERT INTO batch ({names}) VALUES ({', '.join('?' for _ in values)})", list(values.values()))
