"""Lines among the records that are none: titles of sections, sums, examples, notes. A title is a value for its rows.

A row with one cell may also be a machine of which only the name is known, so a title is told by its form: it ends in a
colon, is in capitals, names several things, or stands under a blank line or right under the headings.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.finding import Finding, listed
from evener.ingest.text.texts import Texts

HEADING = "(section)"
_NARROWEST = 3  # columns a list must have for a row of one cell to be a title
_LEAST_CELLS = 2  # that a record fills
_PAGE = re.compile(r"(?:page|seite|página|pagina|blatt|sheet) ?\d+(?: ?(?:of|/|von|de|sur) ?\d+)?", re.IGNORECASE)
_BEHIND = re.compile(r"\s*\(.*\)\s*$")
_PLACE = re.compile(r"\W*(?P<place>\d{1,3}|[a-z])\W*", re.IGNORECASE)
_MOST_SORTS = 0.6  # of them that must be sorts
_FEWEST_NAMED = 3  # cells that a row of numbers, letters or sorts of values must fill
_CAPITALS = 3
_FEW_WORDS = 3


@dataclass(frozen=True)
class Parted:
    """Rows that are no records, by line.

    Attributes
    ----------
    titles : text of the titles
    notes : lines of sums, page numbers and notes
    """

    titles: dict[int, str]
    notes: dict[int, str]

    @property
    def lines(self) -> list[int]:
        """All of them."""
        return [*self.titles, *self.notes]

    def findings(self) -> list[Finding]:
        """Return what is to be said of them."""
        told: list[Finding] = []
        if self.titles:
            lines = sorted(self.titles)
            values = {"lines": listed(lines)}
            told.append(findings.Sections(row=lines[0], raw=" / ".join(self.titles.values()), values=values))
        if self.notes:
            lines = sorted(self.notes)
            told.append(
                findings.NoteLines(row=lines[0], raw=" / ".join(self.notes.values()), values={"lines": listed(lines)})
            )
        return told

    def column(self, lines: NDArray[np.int64]) -> Texts:
        """Return the title that each line stands under; blank above the first."""
        at = sorted(self.titles)
        places = np.searchsorted(np.array(at, np.int64), lines)
        return Texts(places.astype(np.int32), ["", *(self.titles[line].strip(" :") for line in at)])


def parted(
    rows: Sequence[tuple[int, Sequence[str]]], width: int, first: int, blank: Collection[int], full: Collection[int]
) -> Parted:
    """Return which rows are titles or notes.

    Parameters
    ----------
    rows : line and cells of the rows that fill one cell, or begin with a word for a sum
    width : columns of the list
    first : line of the first row under the headings
    blank : lines of blank rows
    full : lines of the rows that fill more cells
    """
    last = max(full, default=0)
    titles: dict[int, str] = {}
    notes: dict[int, str] = {}
    for line, cells in rows:
        said = [cell.strip() for cell in cells if cell.strip()]
        if not said or width < _NARROWEST:
            continue
        if any(map(is_sum, said)) or is_example(said[0]) or names_places(cells):
            notes[line] = " | ".join(said)
        elif len(said) == 1 and _PAGE.fullmatch(said[0]):
            notes[line] = said[0]
        elif len(said) == 1 and line < last and _is_title(said[0], line, first, blank, full):
            titles[line] = said[0]
    return Parted(titles, notes)


def is_candidate(cells: Sequence[str]) -> bool:
    """Tell whether a row may be a title or a sum."""
    said = [cell for cell in cells if cell.strip()]
    return len(said) == 1 or any(map(is_sum, said)) or is_example(said[0]) if said else False


@lru_cache(maxsize=4)
def _words(what: str) -> frozenset[str]:
    text = resources.files("evener.ingest.files").joinpath("row_words.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return frozenset(word for row in rows if row["what"] == what for word in row["words"].split(";"))


def is_sum(text: str) -> bool:
    """Tell whether a text is the word for a sum, alone or with what it counts in brackets."""
    return _BEHIND.sub("", text).strip(" :").casefold() in _words("sum")


def is_example(text: str) -> bool:
    """Tell whether a text says that its row is an example, as the first of a form is: "e.g. 12"."""
    said = text.strip().casefold()
    return any(said == word or said.startswith((f"{word} ", f"{word}:")) for word in _words("example"))


def names_places(cells: Sequence[str]) -> bool:
    """Tell whether a row under the headings does nothing but number or letter the columns, or name sorts of values."""
    said = [(place, cell.strip()) for place, cell in enumerate(cells) if cell.strip()]
    if len(said) < _FEWEST_NAMED:
        return False
    sorts = sum(cell.casefold() in _words("type") for _, cell in said)
    if sorts >= max(_FEWEST_NAMED, _MOST_SORTS * len(said)):
        return True
    found = [_PLACE.fullmatch(cell) for _, cell in said]
    marks = [one["place"].casefold() for one in found if one]
    if len(marks) < len(said):
        return False
    counted = (
        [str(place + 1) for place in range(len(said))],
        [chr(ord("a") + place) for place in range(min(len(said), 26))],
    )
    return marks in counted


def _is_title(text: str, line: int, first: int, blank: Collection[int], full: Collection[int]) -> bool:
    words = text.split()
    letters = [sign for sign in text if sign.isalpha()]
    if len(letters) < _CAPITALS or (len(words[0]) == len(text) and any(sign.isdigit() for sign in text)):
        return False
    if text.endswith(":") or (text.upper() == text and len(letters) >= _CAPITALS):
        return True
    several = words[-1].casefold().endswith("s") and not any(sign.isdigit() for sign in words[-1])
    # Few words without a number, right above a record: the plural of every language ends otherwise.
    above = line + 1 in full and len(words) <= _FEW_WORDS and not any(sign.isdigit() for sign in text)
    return several or line == first or line - 1 in blank or above
