"""Records that a program brings along: as they are, from a DataFrame, or from a list read as ingest reads it."""

from __future__ import annotations

import math
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from evener.enquiry import accepted
from evener.enquiry.refused import RecordRefused
from evener.schema import fields
from evener.schema.records import Implement, Tractor
from evener.schema.us_columns import us_column

if TYPE_CHECKING:
    from pandas import DataFrame

    from evener.enquiry.holdings import Holdings
    from evener.schema.fields import Field

Record = TypeVar("Record", Tractor, Implement)
GIVEN = "given"
STATED = "stated"
KIND = "stock"


def tractors(given: Iterable[Tractor] | DataFrame | str | Path, store: Path) -> tuple[Tractor, ...]:
    """Return tractor records.

    Parameters
    ----------
    given : records; a DataFrame whose columns are fields, in SI or, by their names, in US units; or the path of a list
    store : the store whose families, sources and header spellings a list is read with; it stays as it is

    Raises
    ------
    evener.RecordRefused
        A record has no id, a number out of its bounds, or a field that no tractor has; or a row of the list is refused.
    evener.UnreadableFile
        The path holds no list.
    """
    if isinstance(given, str | Path):
        return _from_list(Tractor, "tractor", Path(given), store)
    return tuple(accepted.record(one) for one in _records(Tractor, "tractor", given))


def implements(given: Iterable[Implement] | DataFrame | str | Path, store: Path) -> tuple[Implement, ...]:
    """Return implement records, as `tractors` does.

    Parameters
    ----------
    given, store : as `tractors` takes them
    """
    if isinstance(given, str | Path):
        return _from_list(Implement, "implement", Path(given), store)
    return tuple(accepted.record(one) for one in _records(Implement, "implement", given))


def beside(held: Holdings, more: Sequence[Tractor], tools: Sequence[Implement]) -> Holdings:
    """Return what a store holds with records brought along; those of the same id, and all classes, give way."""
    if not more and not tools:
        return held
    ids, kinds = {one.tractor_id for one in more}, {one.kind for one in more}
    kept = [
        one for one in held.tractors if one.tractor_id not in ids and not (one.kind == "class" and "class" in kinds)
    ]
    named = {**held.library.implements, **{one.implement_id: one for one in tools}}
    strange = {one.family for one in tools} - set(held.library.families)
    if strange:
        raise RecordRefused(f"there is no family {' or '.join(sorted(strange))}. See: evener list families")
    return replace(held, library=replace(held.library, implements=named), tractors=(*kept, *more))


def _records(record: type[Record], kind: str, given: Iterable[Record] | DataFrame) -> Iterable[Record]:
    if not hasattr(given, "to_dict"):
        return given
    return [_record(record, kind, row) for row in given.to_dict("records")]


def _record(record: type[Record], kind: str, row: Mapping[Any, Any]) -> Record:
    """Return a row of a DataFrame as a record; what is missing there is not stated."""
    known: Mapping[str, Field] = fields.of(kind)
    turned = ((one.name, us_column(one)) for one in known.values())
    in_us: dict[str, tuple[str, float | None]] = {us[0]: (stored, us[1]) for stored, us in turned if us is not None}
    values: dict[str, Any] = {}
    for name, value in row.items():
        if name not in known and name not in in_us:
            near = get_close_matches(str(name), [*known, *in_us], n=3)
            hint = f" Did you mean {' or '.join(near)}?" if near else ""
            raise RecordRefused(f"{kind}s have no field {name!r}.{hint} See: evener fields {kind}")
        if _is_missing(value):
            continue
        field, factor = in_us.get(name, (name, None))
        values[field] = _plain(value) if factor is None else _plain(value) / factor
    values.setdefault(f"{kind}_id", "")
    values.setdefault("label", values[f"{kind}_id"])
    if kind == "tractor":
        values.setdefault("kind", KIND)
    elif "family" not in values:
        raise RecordRefused(f"implement {values['implement_id']!r} has no family. Say which: evener list families")
    return record(**{"source_id": GIVEN, "status": STATED, **values})


def _is_missing(value: Any) -> bool:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return True
    return type(value).__name__ in ("NAType", "NaTType")


def _plain(value: Any) -> Any:
    if hasattr(value, "tolist"):
        value = value.tolist()
    return tuple(value) if isinstance(value, list) else value


def _from_list(record: type[Record], kind: str, file: Path, store: Path) -> tuple[Record, ...]:
    """Read a list into a copy of the store that is thrown away, so that it is read exactly as ingest reads it."""
    from evener.ingest.store import batches
    from evener.schema.store import connection

    with tempfile.TemporaryDirectory(prefix="evener-") as folder:
        copy = Path(folder) / "store.duckdb"
        shutil.copyfile(store, copy)
        report = batches.ingest_file(copy, file, record=kind, kind=KIND if kind == "tractor" else None)
        refusing = [one for one in report.findings if one.refuses]
        if refusing:
            first = refusing[0]
            where = f"{file.name}, line {first.row}" if first.row else file.name
            more = f" ({len(refusing) - 1} more)" if len(refusing) > 1 else ""
            raise RecordRefused(
                f"{where}: {first.message}. {first.what_to_do[:1].upper()}{first.what_to_do[1:]}.{more}"
            )
        with connection.open_read(copy) as con:
            read: Any = connection.read_tractors if record is Tractor else connection.read_implements
            return tuple(one for one in read(con) if one.batch_id == report.batch_id)
