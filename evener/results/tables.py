"""The two tables that every answer rests on: the formulas, and the nomenclature of fields."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.enquiry.refused import Refused
from evener.ingest.jobsheet.keys import SECTIONS, keys_of
from evener.ingest.jobsheet.words import usual
from evener.results.answer import FIELDS, Answer, contract
from evener.schema import fields as nomenclature

if TYPE_CHECKING:
    from evener.ingest.jobsheet.keys import Key
    from evener.scoring.core.printing import Units

SHEET = "sheet"


@dataclass(frozen=True)
class Method:
    """One formula: its equation, where it is from, where it holds, and the printed examples that hold it."""

    formula_id: str
    title: str
    equation: str
    source: str
    clause: str
    status: str
    valid: str
    checks: tuple[str, ...]


@dataclass(frozen=True)
class MethodTable(Answer):
    """Every formula, in the order of the chapters."""

    methods: tuple[Method, ...]

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per formula.

        Parameters
        ----------
        units : formulas are SI, so this changes nothing
        """
        return [{**contract(one, units), "checks": "; ".join(one.checks)} for one in self.methods]


@dataclass(frozen=True)
class FieldEntry:
    """One field of one kind of record: name, unit, bounds, words, header spellings and meaning."""

    record: str
    name: str
    kind: str
    unit: str
    low: float | None
    high: float | None
    choices: tuple[str, ...]
    key: bool
    required: bool
    spellings: tuple[str, ...]
    meaning: str


@dataclass(frozen=True)
class FieldList(Answer):
    """The nomenclature, field by field."""

    entries: tuple[FieldEntry, ...] = field(metadata=FIELDS)

    def to_dict(self, units: Units = "si") -> dict[str, Any]:  # noqa: ARG002
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : bounds are in the unit of their field, so this changes nothing
        """
        return super().to_dict("si")

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per field.

        Parameters
        ----------
        units : as `to_dict`
        """
        return [
            {name: "; ".join(map(str, value)) if isinstance(value, list) else value for name, value in entry.items()}
            for entry in contract(self.entries, units)
        ]


def methods() -> MethodTable:
    """Return every formula of the method table."""
    from evener.scoring.mechanics.methods import load_all

    return MethodTable(
        tuple(
            Method(
                formula_id=one.formula_id,
                title=one.title,
                equation=one.equation,
                source=one.source_id,
                clause=one.clause,
                status=one.status,
                valid=one.valid,
                checks=tuple(one.checks),
            )
            for one in load_all().values()
        )
    )


def fields(record: str | None = None) -> FieldList:
    """Return the nomenclature of one kind of record, or of all.

    Parameters
    ----------
    record : kind of record, such as tractor, or "sheet" for the keys of a job sheet; all records when left out

    Raises
    ------
    evener.Refused
        There is no such kind of record.
    """
    if record == SHEET:
        return FieldList(tuple(_key(one) for section in SECTIONS for one in keys_of(section).values()))
    known = nomenclature.nomenclature()
    if record is not None and record not in known:
        raise Refused(f"{record!r} is no kind of record; use one of {', '.join((*known, SHEET))}")
    return FieldList(
        tuple(
            FieldEntry(
                record=one.record,
                name=one.name,
                kind=one.kind,
                unit=one.unit,
                low=one.low,
                high=one.high,
                choices=tuple(one.choices),
                key=one.key,
                required=one.required,
                spellings=tuple(one.spellings),
                meaning=one.meaning,
            )
            for name in ([record] if record else known)
            for one in nomenclature.of(name).values()
        )
    )


def _key(one: Key) -> FieldEntry:
    """Return a key of a job sheet as an entry of the nomenclature."""
    words = tuple(usual(one.of)) if one.kind in ("word", "words", "word_list") else ()
    return FieldEntry(
        record=SECTIONS[one.section],
        name=one.name,
        kind=one.kind.replace("_", " "),
        unit=one.of if one.kind in ("quantity", "amount") and one.of != "1" else "",
        low=one.low,
        high=one.high,
        choices=words,
        key=one.name == "name",
        required=one.name == "name",
        spellings=usual("key").get(one.name, ()),
        meaning=one.meaning,
    )
