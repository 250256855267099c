"""The store's records of one kind: those that are chosen, in the order asked."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

from evener.enquiry.refused import WrongUse
from evener.results import choosing
from evener.results.answer import SCHEMA, Answer
from evener.results.families import meant
from evener.schema import fields
from evener.schema.store import connection as store_module
from evener.schema.us_columns import us_column

if TYPE_CHECKING:
    from pathlib import Path

    from evener.schema.fields import Field
    from evener.scoring.core.printing import Units

ListKind = Literal["tractors", "implements", "families", "sources", "batches"]
KINDS: tuple[ListKind, ...] = get_args(ListKind)
RECORDS: dict[ListKind, str] = {
    "tractors": "tractor",
    "implements": "implement",
    "families": "family",
    "sources": "source",
    "batches": "batch",
}


@dataclass(frozen=True)
class RecordList(Answer):
    """Records of one kind, as stored.

    Attributes
    ----------
    kind : tractors, implements, families, sources or batches
    columns : fields asked for, in this order; empty where all are
    stored : the records, field by name, in SI units
    """

    kind: ListKind
    columns: tuple[str, ...]
    stored: tuple[Mapping[str, Any], ...]

    @property
    def record(self) -> str:
        """The kind of record as the nomenclature names it."""
        return RECORDS[self.kind]

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per record, with the fields asked for; the name of a number ends in its unit.

        Parameters
        ----------
        units : "si" or "us"
        """
        known = fields.of(self.record)
        wanted = self.columns or tuple(known)
        return [
            dict(_turned(known[name], _held(known[name], row[name]), units) for name in wanted) for row in self.stored
        ]

    def to_dict(self, units: Units = "si") -> dict[str, Any]:
        """Return the keys of the JSON contract; times are texts.

        Parameters
        ----------
        units : "si" or "us"
        """
        rows = [{name: _plain(value) for name, value in row.items()} for row in self.rows(units)]
        return {"schema": SCHEMA, "units": units, self.kind: rows}


def records(
    path: Path,
    kind: ListKind,
    *,
    only: Mapping[str, str | None] | None = None,
    where: str | Sequence[str] | None = None,
    columns: Sequence[str] = (),
    sort: Sequence[str] = (),
) -> RecordList:
    """Return the records of one kind.

    Parameters
    ----------
    path : the store
    kind : tractors, implements, families, sources or batches
    only : by field, the value wanted; None is no condition
    where : one SQL expression on the fields, or several that all are to hold, asked of a locked store; stored names, or
        their names in US units
    columns : fields wanted, in this order; all when left out
    sort : fields to order by, a minus before those that fall; what is not stated comes last

    Raises
    ------
    evener.Refused
        There is no such kind, or it has no field to choose by.
    evener.UnknownColumn
        A field the records do not have.
    evener.StoreError
        The condition is refused, or the path holds no store that can be read.
    """
    if kind not in RECORDS:
        raise WrongUse(f"kind takes {', '.join(KINDS)}, not {kind!r}")
    record = RECORDS[kind]
    wanted = {name: value for name, value in (only or {}).items() if value is not None}
    strange = sorted(set(wanted) - set(fields.of(record)))
    if strange:
        option = "among" if strange[0] == "kind" else strange[0]
        raise WrongUse(f"{option}: {kind} have none to go by; leave it out")
    known = fields.of(record)
    for name, value in wanted.items():
        if known[name].choices and value not in known[name].choices:
            option = "among" if name == "kind" else name
            raise WrongUse(f"{option} takes {', '.join(known[name].choices)}, not {value}")
    if "family" in wanted:
        wanted["family"] = _family(path, str(wanted["family"]))
    shown = tuple(choosing.field_named(record, name).name for name in columns)
    return RecordList(kind, shown, tuple(choosing.rows(path, record, only=wanted, where=where, sort=sort)))


def _family(path: Path, name: str) -> str:
    """Return the family that a word means."""
    with store_module.open_read(path) as con:
        return meant(name, store_module.read_families(con)).family


def _held(known: Field, value: Any) -> Any:
    return json.loads(value) if known.kind == "json" and value is not None else value


def _turned(known: Field, value: Any, units: Units) -> tuple[str, Any]:
    """Return a field's name and value in the units asked; the name ends in its unit."""
    turned = None if units == "si" else us_column(known)
    if turned is None:
        return known.name, value
    name, factor = turned
    # Twelve figures keep all that was measured and drop what the conversion added.
    return name, None if value is None else float(f"{value * factor:.12g}")


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value
