"""Cells that say more than one thing in the way of the trade: gears and a kind, a speed and its gear, a least value."""

from __future__ import annotations

import re

from evener.ingest.text import cell_words

_GEARS = re.compile(r"\b\d{1,2} ?[x/] ?\d{1,2}\b|\b\d{1,2} ?f ?/? ?\d{1,2} ?r\b|\b\d{1,2} ?(?:speed|spd|gears?)\b")
_ECONOMY = re.compile(r"(?<=\d) ?(?:e(?:co)?)\b", re.IGNORECASE)
_PTO = re.compile(r"(?:\bat(?: the)? )?\bpto\b", re.IGNORECASE)


_LEAST_BEFORE, _LEAST_BEHIND = cell_words.pattern("least"), cell_words.pattern("least_behind")
_LEAST = re.compile(
    rf"\s*(?:[>≥] ?|(?:{_LEAST_BEFORE}) )?(?P<number>\d.*?)(?: ?(?:{_LEAST_BEHIND}))?\s*", re.IGNORECASE
)


def without_least(text: str) -> str:
    """Return a least value without the word that says so, for a field that holds the least: "25 min", "ab 90 PS"."""
    found = _LEAST.fullmatch(text)
    return found["number"] if found else text


def without_gears(text: str) -> str:
    """Return a transmission without the count of its gears: "12x12 shuttle" is a shuttle."""
    return " ".join(_GEARS.sub(" ", text.casefold()).strip(" -,").split())


def without_economy(text: str) -> str:
    """Return a power take-off speed without the E of its economy gear, which turns the shaft at the same speed."""
    return _ECONOMY.sub("", text)


def without_pto(text: str) -> str:
    """Return a power without the word that says where it is taken: "45 hp pto" under a heading of PTO power."""
    return _PTO.sub("", text).strip()
