"""The nomenclature: every field's name, unit, bounds, choices, header spellings and meaning.

It is read from `fields.csv`, which a trade expert may correct. Tables, models, header matching and the `fields` command
all follow it; a column that is not in it does not exist.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources
from typing import Literal, cast

Kind = Literal["text", "number", "integer", "choice", "list", "json", "certainty", "flag", "timestamp"]
Item = Literal["text", "integer", "number"]

EVERY = "every"
# Filled by the tool itself: their rows stand in no file, so they carry no line of one.
KEPT_BY_STORE = (
    "sender",
    "correction",
    "owner_alias",
    "batch",
    "quarantine",
    "unplaced",
    "history",
    "rating_model",
    "store",
)
# All other kinds that come from files hold published or practice parameters.
RECORDS_OF_THEIR_OWN = ("tractor", "implement", "family", "source", "verdict")
# Reference files are named by what they hold; only these two differ from their record's name.
FILE_NAMES = {"family": "families", "source": "sources"}


@dataclass(frozen=True, slots=True)
class Field:
    """One field of one kind of record.

    Attributes
    ----------
    record : kind of record; also the name of its table
    name : name of the field and of its column, unit included
    kind : what it holds
    item : what a list holds
    unit : unit the store keeps; empty where there is none
    low, high : bounds, both inclusive
    choices : words allowed
    key : whether it is part of what names the record
    required : whether a record must have it
    upper : field that takes the upper end when a cell gives a range
    spellings : column headings of the trade that mean this field
    choice_spellings : other spellings of the choices
    meaning : one line
    """

    record: str
    name: str
    kind: Kind
    item: Item | None
    unit: str
    low: float | None
    high: float | None
    choices: tuple[str, ...]
    key: bool
    required: bool
    upper: str | None
    spellings: tuple[str, ...]
    choice_spellings: dict[str, str]
    meaning: str

    @property
    def is_measured(self) -> bool:
        """Whether a value has a unit that must be known before it means anything."""
        return self.unit not in ("", "1", "%", "rpm", "currency")

    @property
    def plain_name(self) -> str:
        """The name without the unit it ends in."""
        ending = "".join(sign if sign.isalnum() else "_" for sign in self.unit.casefold())
        return self.name.removesuffix(f"_{ending}") if ending else self.name


def _field(row: dict[str, str]) -> Field:
    choices: list[str] = []
    spellings: dict[str, str] = {}
    for choice in filter(None, row["choices"].split("|")):
        word, *others = choice.split("=")
        choices.append(word)
        spellings.update(dict.fromkeys([word, *others], word))
    return Field(
        record=row["record"],
        name=row["name"],
        kind=cast("Kind", row["kind"]),
        item=cast("Item", row["item"]) if row["item"] else None,
        unit=row["unit"],
        low=float(row["low"]) if row["low"] else None,
        high=float(row["high"]) if row["high"] else None,
        choices=tuple(choices),
        key=row["key"] == "yes",
        required=row["required"] == "yes",
        upper=row["upper"] or None,
        spellings=tuple(filter(None, row["spellings"].split(";"))),
        choice_spellings=spellings,
        meaning=row["meaning"],
    )


NUMBER = "number"  # in `spellings.csv`, whatever field names the record
_OF_LISTS = ("tractor", "implement")


@lru_cache(maxsize=1)
def spellings() -> tuple[dict[str, str], ...]:
    """Return the headings and words of the trade by language, one row for each field or word."""
    text = resources.files("evener.schema").joinpath("spellings.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _spelled(record: str, field: Field) -> Field:
    """Return a field with the spellings of all languages."""
    if record not in _OF_LISTS:
        return field
    names = {field.name, NUMBER} if field.key else {field.name}
    rows = [row for row in spellings() if row["record"] in (record, EVERY) and row["field"] in names]
    said = [(row["value"], word) for row in rows for word in row["spelling"].split(";")]
    headings = dict.fromkeys((*field.spellings, *(word for value, word in said if not value)))
    words = {word: value for value, word in said if value}
    return replace(field, spellings=tuple(headings), choice_spellings={**field.choice_spellings, **words})


@lru_cache(maxsize=1)
def nomenclature() -> dict[str, dict[str, Field]]:
    """Return every kind of record with its fields, by name, in the order of their columns."""
    text = resources.files("evener.schema").joinpath("fields.csv").read_text(encoding="utf-8")
    records: dict[str, dict[str, Field]] = {}
    for row in csv.DictReader(text.splitlines()):
        fields = records.setdefault(row["record"], {})
        if row["name"] in fields:
            raise ValueError(f"fields.csv: {row['record']}.{row['name']} stands twice")
        fields[row["name"]] = _field(row)
    everywhere = records.pop(EVERY)
    for record, fields in records.items():
        if record not in KEPT_BY_STORE:
            for name, field in everywhere.items():
                fields.setdefault(name, replace(field, record=record))
        records[record] = {name: _spelled(record, field) for name, field in fields.items()}
    return records


def of(record: str) -> dict[str, Field]:
    """Return the fields of one kind of record, by name, in the order of its columns.

    Raises
    ------
    KeyError
        No such kind of record.
    """
    return nomenclature()[record]


def keys(record: str) -> tuple[str, ...]:
    """Return the names of the fields that name one record."""
    return tuple(field.name for field in of(record).values() if field.key)


def loaded_records() -> tuple[str, ...]:
    """Return the kinds of record that come from files."""
    return tuple(record for record in nomenclature() if record not in KEPT_BY_STORE)


def reference_records() -> tuple[str, ...]:
    """Return the kinds of record that hold published or practice parameters."""
    return tuple(record for record in loaded_records() if record not in RECORDS_OF_THEIR_OWN)


def file_name(record: str) -> str:
    """Return the name, without ending, of the file that fills a table of parameters."""
    return FILE_NAMES.get(record, record)
