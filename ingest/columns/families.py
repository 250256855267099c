"""What kind of machine a text names: a family by its names in the trade, alone or as the title of a section."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources

from evener.ingest.columns.headers import fold

TYPE_HEADINGS = frozenset(
    map(fold, ("type", "kind", "category", "class", "art", "gattung", "geräteart", "tipo", "genre", "machine type"))
)


_SIZE_BEHIND = re.compile(r"[\s,]+\d[\d.,/ ]*(?: ?(?:m|cm|ft|in|'|\"|row|rows|t|l))?$", re.IGNORECASE)
_PLURALS = ("s", "es", "en", "n", "e")


@lru_cache(maxsize=1)
def records_by_word() -> Mapping[str, str]:
    """Return the kind of record that a word names, by folded word."""
    text = resources.files("evener.ingest.columns").joinpath("kinds.csv").read_text(encoding="utf-8")
    return {fold(row["word"]): row["record"] for row in csv.DictReader(text.splitlines())}


def family_named(text: str, families: Mapping[str, str]) -> str | None:
    """Return the family a text names, in the singular or the plural, or None.

    Parameters
    ----------
    text : as written
    families : family by folded name
    """
    folded = fold(text)
    forms = (folded, *(folded.removesuffix(ending) for ending in _PLURALS))
    return next((families[form] for form in forms if form in families), None)


def family_called(text: str, families: Mapping[str, str]) -> str | None:
    """Return the family of a machine that is called by it and a size: "Tedder 4", "Kreiselegge 3,00 m", or None.

    Parameters
    ----------
    text : what it is called
    families : family by folded name
    """
    named = family_named(text, families)
    if named is not None:
        return named
    name = _SIZE_BEHIND.sub("", text)
    return family_named(name, families) if name != text else None


def record_named(text: str, families: Mapping[str, str]) -> str | None:
    """Return whether a text names tractors or implements, or None."""
    folded = fold(text)
    word = records_by_word().get(folded)
    if word is not None:
        return word
    if "tractor" in folded.split() or "tractors" in folded.split():
        return "tractor"
    return "implement" if family_named(text, families) else None
