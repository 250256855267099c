"""The keys of a job sheet: what each may hold, read from `keys.csv`."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from types import MappingProxyType

from evener.schema import units

SECTIONS = {
    "place": "place",
    "land": "place.land",
    "task": "task",
    "machine": "machine",
    "tractor": "tractor",
    "policy": "policy",
    "prices": "prices",
    "hire": "hire",
}


@dataclass(frozen=True, slots=True)
class Key:
    """One key of one section.

    Attributes
    ----------
    section : place, land, task, machine, tractor, policy, prices or hire
    name : as written in the sheet
    field : field of the record it fills
    kind : how its value is read
    of : unit of a quantity, or list of a word
    low, high : bounds in that unit
    ends : whether the bounds themselves are allowed: "", "above" (not the lower) or "between" (neither)
    default_unit : unit of a bare number, where the key's own name says it
    nouns : words that may follow a bare number
    meaning : one line
    """

    section: str
    name: str
    field: str
    kind: str
    of: str
    low: float | None
    high: float | None
    ends: str
    default_unit: str | None
    nouns: tuple[str, ...]
    meaning: str

    def holds(self, value: float) -> bool:
        """Tell whether a value lies within the bounds."""
        if self.low is not None and (value < self.low or (self.ends and value == self.low)):
            return False
        return not (self.high is not None and (value > self.high or (self.ends == "between" and value == self.high)))

    def allowed(self) -> str:
        """Return the bounds in words, in the unit kept and in US units."""
        unit = self.of if self.kind == "quantity" and self.of != "1" else ""
        ends = {"": "{} to {}", "above": "more than {} and up to {}", "between": "more than {} and less than {}"}
        said = f"{ends[self.ends].format(*self._ends(1.0))} {unit}".strip()
        if not unit:
            return said
        symbol, factor = units.us(unit, field=self.field)
        return said if symbol == unit else f"{said} ({' to '.join(self._ends(factor))} {symbol})"

    def _ends(self, factor: float) -> tuple[str, ...]:
        ends = (end * factor for end in (self.low or 0.0, self.high or 0.0))
        return tuple(f"{end:.3g}" if abs(end) < 100 else f"{end:.0f}" for end in ends)


def _number(text: str) -> float | None:
    return float(text) if text else None


@lru_cache(maxsize=1)
def _sections() -> Mapping[str, Mapping[str, Key]]:
    text = resources.files("evener.ingest.jobsheet").joinpath("keys.csv").read_text(encoding="utf-8")
    sections: dict[str, dict[str, Key]] = {section: {} for section in SECTIONS}
    for row in csv.DictReader(text.splitlines()):
        sections[row["section"]][row["key"]] = Key(
            section=row["section"],
            name=row["key"],
            field=row["field"],
            kind=row["kind"],
            of=row["of"],
            low=_number(row["low"]),
            high=_number(row["high"]),
            ends=row["ends"],
            default_unit=row["default_unit"] or None,
            nouns=tuple(filter(None, row["nouns"].split(";"))),
            meaning=row["meaning"],
        )
    return MappingProxyType(sections)


def keys_of(section: str) -> Mapping[str, Key]:
    """Return the keys of one section by name: place, land, task, machine, tractor, policy, prices or hire."""
    return _sections()[section]
