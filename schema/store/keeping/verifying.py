"""Whether a store is what it should be: every byte read, tables in shape, records in bounds, counts that add up."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.schema import fields, tables
from evener.schema.store import companions, engine, reading, shipped
from evener.schema.store.companions import LOG, PREVIOUS
from evener.schema.store.faults import StoreError
from evener.schema.store.migrations.chain import bring_up_to_date

if TYPE_CHECKING:
    from datetime import datetime

    from evener.schema.fields import Field
    from evener.schema.store.engine import Connection

_AT_ONCE = 1 << 20
_SHOWN = 3


@dataclass(frozen=True)
class Verified:
    """What was found in a store.

    Attributes
    ----------
    store : name of its file
    sha256 : hash of the file; a backup of it has the same
    log_bytes : what stands in its log alone, which a backup brings into the file
    records : by kind of record, how many there are
    last_batch : last ingest: id, file and time (UTC); None where there is none
    library_current : whether the library in it is the one shipped; None where that cannot be told
    previous : the copy from before the last ingest: its name, None where there is none
    findings : what is not as it should be, in words
    """

    store: str
    sha256: str
    log_bytes: int
    records: dict[str, int]
    last_batch: tuple[str, str, datetime] | None
    library_current: bool | None
    previous: str | None
    findings: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        last = self.last_batch
        return {
            "schema": 1,
            "store": self.store,
            "sha256": self.sha256,
            "log_bytes": self.log_bytes,
            "records": self.records,
            "last_batch": last and {"batch_id": last[0], "file": last[1], "loaded_at": f"{last[2]:%Y-%m-%d %H:%M:%S}"},
            "library_current": self.library_current,
            "previous": self.previous,
            "findings": list(self.findings),
        }

    def rows(self) -> list[dict[str, Any]]:
        """Return the findings as rows."""
        return [{"store": self.store, "finding": one} for one in self.findings]


def verify(path: Path) -> Verified:
    """Read a store whole and hold it against what it says of itself.

    Parameters
    ----------
    path : the store's file

    Raises
    ------
    evener.schema.store.faults.StoreError
        There is no store, it is in use, or it cannot be read whole.
    """
    bring_up_to_date(path)
    with engine.reading(path) as con:
        findings = list(_shape(con))
        records: dict[str, int] = {}
        if not findings:
            records = {record: _read_whole(con, record) for record in fields.nomenclature()}
            findings = [*_references(con), *_bounds(con), *_counts(con)]
        last = None if findings and not records else reading.last_batch(con)
        filled = [] if not records else con.execute("SELECT library_sha256 FROM store").fetchall()
    copy = companions.beside(path, PREVIOUS)
    findings += _of_copy(copy)
    log = companions.beside(path, LOG)
    current = shipped.packed_fingerprint()
    return Verified(
        path.name,
        hash_of(path),
        log.stat().st_size if log.exists() else 0,
        records,
        last,
        None if current is None or not filled or filled[0][0] is None else filled[0][0] == current,
        copy.name if copy.exists() else None,
        tuple(findings),
    )


def hash_of(path: Path) -> str:
    """Return the SHA-256 of a file.

    Parameters
    ----------
    path : the file
    """
    whole = hashlib.sha256()
    with path.open("rb") as file:
        while part := file.read(_AT_ONCE):
            whole.update(part)
    return whole.hexdigest()


def _shape(con: Connection) -> Iterator[str]:
    held: dict[str, dict[str, str]] = {}
    for table, column, kind in con.execute(
        "SELECT table_name, column_name, data_type FROM duckdb_columns() WHERE NOT internal"
    ).fetchall():
        held.setdefault(table, {})[column] = kind
    for record in fields.nomenclature():
        if record not in held:
            yield f"the table {record} is missing"
            continue
        wanted = {one.name: tables.sql_type(one) for one in fields.of(record).values()}
        for name in sorted(wanted.keys() ^ held[record].keys()):
            yield f"the table {record} {'lacks' if name in wanted else 'has in addition'} the column {name}"
    for (view,) in con.execute("SELECT view_name FROM duckdb_views() WHERE NOT internal").fetchall():
        yield f"the view {view} is none of this tool's"


def _read_whole(con: Connection, record: str) -> int:
    """Return how many rows a table has; every block of it is read, and held against its checksum."""
    ((count, _),) = con.execute(f'SELECT count(*), bit_xor(hash(t)) FROM "{record}" t').fetchall()
    return int(count)


def _references(con: Connection) -> Iterator[str]:
    for record in fields.loaded_records():
        known = fields.of(record)
        if "batch_id" in known and record != "source":  # a source stays while anything cites it
            yield from _said(
                con,
                f"{record}: %d of no ingest that is entered, such as %s",
                f'SELECT "{fields.keys(record)[0]}" FROM "{record}" WHERE batch_id NOT IN (SELECT batch_id FROM batch)',
            )
        if "source_id" in known and record != "source":
            yield from _said(
                con,
                f"{record}: %d cite a source that is not there, such as %s",
                f'SELECT "{fields.keys(record)[0]}" FROM "{record}"'
                " WHERE source_id NOT IN (SELECT source_id FROM source)",
            )
        keys = ", ".join(f'"{name}"' for name in fields.keys(record))
        if keys:
            yield from _said(
                con,
                f"{record}: %d names that several rows have, such as %s",
                f'SELECT "{fields.keys(record)[0]}" FROM "{record}" GROUP BY {keys} HAVING count(*) > 1',
            )


def _bounds(con: Connection) -> Iterator[str]:
    for record in fields.loaded_records():
        for one in fields.of(record).values():
            wrong = _wrong(one)
            if wrong:
                yield from _said(
                    con,
                    f"{record}: %d with a {one.name} that it cannot have, such as %s",
                    f'SELECT "{fields.keys(record)[0]}" FROM "{record}" WHERE {wrong}',
                )


def _wrong(field: Field) -> str:
    name = f'"{field.name}"'
    if field.kind in ("number", "integer"):
        parts = [f"NOT isfinite({name}::DOUBLE)"]
        parts += [] if field.low is None else [f"{name} < {field.low!r}"]
        parts += [] if field.high is None else [f"{name} > {field.high!r}"]
        return " OR ".join(parts)
    if field.kind == "choice" and field.choices:
        allowed = ", ".join("'" + word.replace("'", "''") + "'" for word in field.choices)
        return f"{name} NOT IN ({allowed})"
    return ""


def _counts(con: Connection) -> Iterator[str]:
    """Hold each ingest's own count against the rows that are there or kept in the history."""
    found = con.execute("SELECT coalesce(list_distinct(flatten(list(library_batches))), []) FROM store").fetchall()
    library = set(found[0][0] or [])
    for batch_id, record, read, loaded, unchanged, superseded, refused in con.execute(
        "SELECT batch_id, record, read, loaded, unchanged, superseded, quarantined FROM batch ORDER BY batch_id"
    ).fetchall():
        if read != loaded + unchanged + superseded + refused:
            yield f"{batch_id}: {read} rows read are not {loaded + unchanged + superseded + refused} in all"
        if record not in fields.nomenclature():
            yield f"{batch_id}: it loaded {record}, which is no kind of record"
            continue
        ((here, before, waiting),) = con.execute(
            f'SELECT (SELECT count(*) FROM "{record}" WHERE batch_id = $1),'
            " (SELECT count(*) FROM history WHERE batch_id = $1 AND record = $2),"
            " (SELECT count(*) FROM quarantine WHERE batch_id = $1)",
            [batch_id, record],
        ).fetchall()
        # A library that was renewed leaves out the rows whose names the owner's own records have.
        if here + before > loaded + superseded or (here + before < loaded + superseded and batch_id not in library):
            yield f"{batch_id}: {loaded + superseded} rows were loaded, and {here + before} are there or in the history"
        if waiting != refused:
            yield f"{batch_id}: {refused} rows were refused, and {waiting} are kept"


def _said(con: Connection, words: str, wrong: str) -> Iterator[str]:
    ((count, names),) = con.execute(
        f"SELECT count(*), list(name ORDER BY name)[1:{_SHOWN}] FROM ({wrong}) found(name)"
    ).fetchall()
    if count:
        yield words % (count, ", ".join(map(str, names)))


def _of_copy(copy: Path) -> list[str]:
    if not copy.exists():
        return []
    try:
        with engine.reading(copy) as con:
            engine.version(con)
    except StoreError as error:
        return [f"the copy from before the last ingest is no help: {error}"]
    return []
