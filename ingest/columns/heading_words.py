"""Words of headings that say the same shorter, and words that stand beside what a heading says: "Unit wt", "Preis CHF".

`heading_words.csv` has them: short forms; words that name the thing a list is of, and may be left out; those that may
be left out before words alone, since a number after them is another one ("Model no"); words of taxes and of powers;
small words, in whose absence and whatever their order a heading says the same; words for the engine and the shaft.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import resources

EVERY = "every"
SHORT, BESIDE, BEFORE_WORDS, TAX, POWER = "short", "beside", "before_words", "tax", "power"
SMALL, ENGINE, SHAFT = "small", "engine", "shaft"
_CURRENCIES = frozenset({"eur", "euro", "euros", "usd", "gbp", "cad", "aud", "nzd", "chf", "sfr", "dollars", "pounds"})


@lru_cache(maxsize=1)
def _rows() -> tuple[Mapping[str, str], ...]:
    text = resources.files("evener.ingest.columns").joinpath("heading_words.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


@lru_cache(maxsize=64)
def words(what: str, record: str = EVERY) -> Mapping[str, str]:
    """Return the words of one sort for a kind of record, with what each means."""
    return {
        word: row["means"]
        for row in _rows()
        if row["what"] == what and row["record"] in (record, EVERY)
        for word in row["word"].split(";")
    }


def shorter(stem: str, record: str) -> Iterator[tuple[str, bool]]:
    """Yield what a folded heading says in other words, the nearest first, and whether it may name the machine.

    Parameters
    ----------
    stem : the heading, folded, without its unit
    record : kind of record
    """
    short, beside, before = words(SHORT), words(BESIDE, record), words(BEFORE_WORDS)
    said = [short.get(word, word) for word in stem.split()]
    yield " ".join(said), True
    for names, may_name in ((beside, True), ({**beside, **before}, False)):
        left = [word for word in said if word not in names]
        if left and len(left) < len(said):
            yield " ".join(left), may_name


def without_money(stem: str) -> str:
    """Return a folded heading without currencies and what it says of taxes."""
    return " ".join(word for word in stem.split() if word not in words(TAX) and word not in _CURRENCIES)


def in_any_order(stem: str) -> frozenset[str]:
    """Return the words of a folded heading in full, without small ones: "power at the pto" says "pto power"."""
    short = words(SHORT)
    return frozenset(short.get(word, word) for word in stem.split() if word not in words(SMALL))
