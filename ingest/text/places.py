"""Columns by their place in the file: behind a heading that stands twice, and as a person writes it: column C, or 3."""

from __future__ import annotations

import re

_BEHIND = re.compile(r"(?<=\S) \(column \d+\)$")
_SAID = re.compile(r"(?:(?:column|col\.?|spalte|colonne|columna) )?(?P<number>\d{1,5})", re.IGNORECASE)
_LETTERS = re.compile(r"(?:column|col\.?|spalte|colonne|columna) (?P<letters>[a-z]{1,3})", re.IGNORECASE)
_ALPHABET = 26


def headed(heading: str, place: int) -> str:
    """Return a heading with the column's place behind it; the place alone where it is blank."""
    return f"{heading} (column {place})".strip()


def heading_of(header: str) -> str:
    """Return a heading as its file has it, without the place behind it."""
    return _BEHIND.sub("", header)


def place(said: str) -> int | None:
    """Return the column that a person means by its place, counted from 1; None where a text means none."""
    text = " ".join(said.split())
    number = _SAID.fullmatch(text)
    if number:
        return int(number["number"]) or None
    letters = _LETTERS.fullmatch(text)
    if letters is None:
        return None
    found = 0
    for letter in letters["letters"].casefold():
        found = found * _ALPHABET + ord(letter) - ord("a") + 1
    return found
