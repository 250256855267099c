"""Which records a listing shows, and in what order: by fields, by a condition in SQL, by columns to sort on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from evener.schema import fields
from evener.schema.fields import Field
from evener.schema.store import asking
from evener.schema.store import connection as store
from evener.schema.us_columns import us_column

USUAL_ORDER = {
    "tractor": ("kind", "pto_power_kw", "tractor_id"),
    "implement": ("family", "working_width_m", "implement_id"),
    "source": ("source_id",),
}


class UnknownColumn(store.StoreError):
    """A column the records do not have; the text names the nearest."""

    exit_status = 2


def field_named(record: str, name: str) -> Field:
    """Return the field a user means: by its stored name, without the unit, in US units, or by a heading of the trade.

    Parameters
    ----------
    record : kind of record
    name : as typed

    Raises
    ------
    UnknownColumn
        There is none; the nearest names are in the text.
    """
    known = fields.of(record)
    by_name: dict[str, Field] = {}
    for field in known.values():
        turned = us_column(field)
        for spelling in (field.name, field.plain_name, *([turned[0]] if turned else [])):
            by_name.setdefault(_folded(spelling), field)
    for field in known.values():
        for spelling in field.spellings:
            by_name.setdefault(_folded(spelling), field)
    if _folded(name) in by_name:
        return by_name[_folded(name)]
    from difflib import get_close_matches

    near = list(dict.fromkeys(by_name[match].name for match in get_close_matches(_folded(name), by_name, n=3)))
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    raise UnknownColumn(f"{record} has no field {name!r}.{hint} See: evener fields {record}")


def _folded(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").split())


def rows(
    path: Path, record: str, *, only: Mapping[str, str], where: str | Sequence[str] | None, sort: Sequence[str]
) -> list[dict[str, Any]]:
    """Return the rows of one kind of record as stored: those that are chosen, in the order asked.

    Parameters
    ----------
    path : the store
    record : kind of record
    only : by field, the value wanted
    where : one SQL expression on the fields, or several that all are to hold, or None
    sort : fields to order by, a minus before those that fall; what is not stated comes last

    Raises
    ------
    UnknownColumn
        A field to sort by that the records do not have.
    evener.schema.store.connection.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    order = [(field_named(record, name.removeprefix("-")).name, name.startswith("-")) for name in sort]
    chosen = keys_meeting(path, record, where)
    with store.open_read(path) as con:
        stored = store.read_rows(con, record)
    key = fields.keys(record)[0]
    found = [
        row
        for row in stored
        if all(row.get(name) == value for name, value in only.items()) and (chosen is None or row[key] in chosen)
    ]
    usual = USUAL_ORDER.get(record, ())
    found.sort(key=lambda row: [(row[name] is None, row[name]) for name in usual])
    # From the last to the first: a stable order by each leaves the one before standing among equals.
    for name, falling in reversed(order):
        stated = sorted(
            (row for row in found if row[name] is not None),
            key=lambda row, by=name: _comparable(row[by]),  # type: ignore[misc]
            reverse=falling,
        )
        found = stated + [row for row in found if row[name] is None]
    return found


def _comparable(value: Any) -> Any:
    return value.casefold() if isinstance(value, str) else value


def keys_meeting(path: Path, record: str, where: str | Sequence[str] | None) -> frozenset[str] | None:
    """Return the keys of the records that meet every condition; None where there is none.

    Parameters
    ----------
    path : the store
    record : kind of record
    where : one SQL expression on the fields, or several
    """
    conditions = [where] if isinstance(where, str) else list(where or ())
    if not conditions:
        return None
    return frozenset.intersection(*(frozenset(asking.keys_where(path, record, one)) for one in conditions))
