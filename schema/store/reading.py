"""From an open store to records, or to columns where there may be a million of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields as dataclass_fields
from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.schema import certainty, fields
from evener.schema.records import Family, Implement, Tractor, Verdict

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.schema.store.engine import Connection


def _read(con: Connection, kind: type[Any], table: str, tail: str, values: Sequence[Any] = ()) -> list[Any]:
    """Return a table's rows as records; a blank list is empty, and certainties are by field."""
    columns = dataclass_fields(kind)
    lists = [place for place, column in enumerate(columns) if str(column.type).startswith("tuple")]
    mappings = [place for place, column in enumerate(columns) if str(column.type).startswith("dict")]
    names = ", ".join(f'"{column.name}"' for column in columns)
    records = []
    for row in con.execute(f'SELECT {names} FROM "{table}" {tail}', values).fetchall():
        held = list(row)
        for place in lists:
            held[place] = tuple(held[place] or ())
        for place in mappings:
            held[place] = certainty.read(held[place] or {})
        records.append(kind(*held))
    return records


def read_tractors(con: Connection, kinds: Iterable[str] | None = None, ids: Iterable[str] = ()) -> list[Tractor]:
    """Return the tractor records, by id.

    Parameters
    ----------
    con : an open store
    kinds : kinds wanted; all when left out
    ids : records wanted beside those of these kinds
    """
    if kinds is None:
        return _read(con, Tractor, "tractor", "ORDER BY tractor_id")
    tail = "WHERE list_contains(?, kind) OR list_contains(?, tractor_id) ORDER BY tractor_id"
    return _read(con, Tractor, "tractor", tail, [list(kinds), list(ids)])


def read_names(con: Connection, record: str) -> set[str]:
    """Return what names the records of one kind.

    Parameters
    ----------
    con : an open store
    record : kind of record, as the nomenclature names it
    """
    return {name for (name,) in con.execute(f'SELECT "{fields.keys(record)[0]}" FROM "{record}"').fetchall()}


def read_tractor_columns(con: Connection, kinds: Iterable[str] | None = None) -> dict[str, NDArray[Any]]:
    """Return the tractor records as columns of one length, ordered by id, without a Python object for each number.

    Parameters
    ----------
    con : an open store
    kinds : kinds wanted; all when left out

    Returns
    -------
    dict
        By field of `Tractor`, an array of shape (n,). Numbers and whole numbers are float64 in the field's unit, NaN
        where not stated. Everything else is an object array, None where not stated: texts and choices as str,
        `pto_speeds_rpm` as a tuple of int (empty where not stated), `estimated` as a dict of `Certainty` by field.
    """
    known = fields.of("tractor")
    names = [column.name for column in dataclass_fields(Tractor)]
    numbers = [name for name in names if known[name].kind in ("number", "integer")]
    shown = [f'CAST("{name}" AS DOUBLE) AS "{name}"' if name in numbers else f'"{name}"' for name in names]
    where, values = ("", []) if kinds is None else ("WHERE list_contains(?, kind)", [list(kinds)])
    found = con.execute(f"SELECT {', '.join(shown)} FROM tractor {where} ORDER BY tractor_id", values).fetchnumpy()
    columns: dict[str, NDArray[Any]] = {}
    for name in names:
        column = np.ma.asarray(found[name])
        if name in numbers:
            columns[name] = np.ma.filled(column.astype(float), np.nan)
            continue
        held: Any = np.asarray(column.data, object).copy()
        held[np.ma.getmaskarray(column)] = None
        kind = known[name].kind
        if kind == "list":
            held = _objects(held, lambda one: () if one is None else tuple(map(int, one)))
        elif kind == "certainty":
            held = _objects(held, lambda one: certainty.read(one or {}))
        columns[name] = held
    return columns


def _objects(column: NDArray[Any], turned: Callable[[Any], Any]) -> NDArray[Any]:
    """Return one object per place; made at once, numpy would spread lists out."""
    held = np.empty(len(column), object)
    for place, one in enumerate(column):
        held[place] = turned(one)
    return held


def read_implements(con: Connection, ids: Iterable[str] | None = None) -> list[Implement]:
    """Return the implement records, by id.

    Parameters
    ----------
    con : an open store
    ids : ids wanted; all when left out
    """
    if ids is None:
        return _read(con, Implement, "implement", "ORDER BY implement_id")
    tail = "WHERE list_contains(?, implement_id) ORDER BY implement_id"
    return _read(con, Implement, "implement", tail, [list(ids)])


def read_families(con: Connection) -> dict[str, Family]:
    """Return the families by name, in the order of their file."""
    return {family.family: family for family in _read(con, Family, "family", "ORDER BY file_row")}


def read_rating_models(con: Connection) -> dict[str, list[dict[str, Any]]]:
    """Return the rows of each family's fitted model, one per quantity, for those that have one."""
    models: dict[str, list[dict[str, Any]]] = {}
    for row in read_rows(con, "rating_model"):
        models.setdefault(row["family"], []).append(row)
    return models


def read_verdicts(con: Connection) -> list[Verdict]:
    """Return what analysts hold of implement records, by record."""
    return _read(con, Verdict, "verdict", "ORDER BY implement_id, set_field NULLS FIRST")


def read_reference(con: Connection) -> dict[str, list[dict[str, Any]]]:
    """Return every table of parameters, by name, as rows in the order of their file; None where a cell is blank."""
    records = fields.reference_records()
    # One statement for all: planning twenty small ones takes longer than ranking a job.
    every = " UNION ALL ".join(f"SELECT '{record}', file_row, to_json(one) FROM \"{record}\" one" for record in records)
    tables: dict[str, list[dict[str, Any]]] = {record: [] for record in records}
    for record, _, row in sorted(con.execute(every).fetchall(), key=lambda found: found[1]):
        tables[record].append(json.loads(row))
    return tables


def read_rows(con: Connection, record: str) -> list[dict[str, Any]]:
    """Return all rows of one table, column by name.

    Parameters
    ----------
    con : an open store
    record : kind of record, as the nomenclature names it
    """
    names = list(fields.of(record))
    file_order = [name for name in names if name in ("batch_id", "file_row")]
    order = file_order[::-1] or [*fields.keys(record)] or names[:1]
    columns, by = (", ".join(f'"{name}"' for name in part) for part in (names, order))
    rows = con.execute(f'SELECT {columns} FROM "{record}" ORDER BY {by}').fetchall()
    return [dict(zip(names, row, strict=True)) for row in rows]


def read_sizes(con: Connection, record: str, size: str, name: str) -> list[tuple[str, float, float]]:
    """Return a field of the generic records against a size, where both are positive and not invented.

    Generic are the tractor classes, which are one group, and the implements that nobody owns, grouped by family.

    Parameters
    ----------
    con : an open store
    record : tractor or implement
    size : field that tells the size; "" counts all alike, as 1
    name : the field

    Returns
    -------
    list
        Group, size and value, each in the unit of its field.
    """
    group, generic = ("family", "owner IS NULL") if record == "implement" else ("'classes'", "kind = 'class'")
    by = f'"{size}"' if size else "CAST(1 AS DOUBLE)"
    return con.execute(
        f'SELECT {group}, {by}, "{name}" FROM "{record}" WHERE {generic}'
        f" AND status <> 'invented' AND \"{name}\" > 0 AND {by} > 0"
    ).fetchall()


def last_batch(con: Connection) -> tuple[str, str, datetime] | None:
    """Return the last ingest that a store holds: id, file and time (UTC); None where it holds none."""
    found = con.execute(
        "SELECT batch_id, file_name, loaded_at FROM batch ORDER BY CAST(batch_id[2:] AS INTEGER) DESC LIMIT 1"
    ).fetchall()
    return found[0] if found else None
