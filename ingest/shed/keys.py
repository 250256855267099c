"""The keys of a shed file: what each may hold, read from `keys.csv`."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from types import MappingProxyType

from evener.ingest.jobsheet.keys import Key

SECTIONS = ("shed", "member", "road", "window", "kept", "veto")


@lru_cache(maxsize=1)
def _sections() -> Mapping[str, Mapping[str, Key]]:
    text = resources.files("evener.ingest.shed").joinpath("keys.csv").read_text(encoding="utf-8")
    sections: dict[str, dict[str, Key]] = {section: {} for section in SECTIONS}
    for row in csv.DictReader(text.splitlines()):
        sections[row["section"]][row["key"]] = Key(
            section=row["section"],
            name=row["key"],
            field=row["field"],
            kind=row["kind"],
            of=row["of"],
            low=float(row["low"]) if row["low"] else None,
            high=float(row["high"]) if row["high"] else None,
            ends=row["ends"],
            default_unit=row["default_unit"] or None,
            nouns=(),
            meaning=row["meaning"],
        )
    return MappingProxyType(sections)


def keys_of(section: str) -> Mapping[str, Key]:
    """Return the keys of one section by name: shed, member, road, window, kept or veto."""
    return _sections()[section]
