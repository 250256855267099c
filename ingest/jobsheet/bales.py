"""The size of a bale as the trade writes it, with both its lengths in one text."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from evener.ingest.jobsheet import findings as found
from evener.ingest.jobsheet.keys import Key
from evener.ingest.jobsheet.lines import Path
from evener.ingest.jobsheet.values import Reading, checked, value_text
from evener.ingest.text import cells
from evener.schema.records import Given, Quantity

SQUARE_BALERS = frozenset({"small_square_baler", "large_square_baler"})
_SHAPE = re.compile(r"\b(round|square)\b")
_ABOUT = re.compile(r"(?:about|approx\.?|around|~)\s*")
_ENDS = re.compile(r"\s+(?:to|or)\s+")
_LENGTHS = re.compile(r"(?P<first>.+?)\s*(?:x|×|\bby\b)\s*(?P<second>.+)")
_UNIT = re.compile(r"[^\d\s.]+$")


@dataclass(frozen=True, slots=True)
class Bale:
    """A bale's two lengths [m] in the order written, with the text that said them."""

    first: Quantity
    second: Quantity
    text: str

    def fields(self, family: str) -> dict[str, Quantity]:
        """Return the record's fields for a bale that a machine of this family makes or handles."""
        return dict(zip(fields_of(self.text, family), (self.first, self.second), strict=True))


def fields_of(text: str, family: str) -> tuple[str, str]:
    """Return which fields the two lengths fill: width and diameter of a round bale, height and width of a square one.

    A bale is square when the text says so, or when a square baler makes it and the text does not say round.
    """
    shape = _SHAPE.search(text.casefold())
    square = shape[1] == "square" if shape else family in SQUARE_BALERS
    return ("bale_height_m", "bale_width_m") if square else ("bale_width_m", "bale_diameter_m")


def is_bale(text: str) -> bool:
    """Tell whether a text says both lengths of a bale, or that they are not known."""
    sizes = _SHAPE.sub(" ", text.casefold()).strip()
    return cells.is_unknown(sizes) or _LENGTHS.fullmatch(_ABOUT.sub("", sizes, count=1)) is not None


def bale(reading: Reading, path: Path, key: Key, value: object) -> Bale | None:
    """Return the bale in "4x5 ft", "4 ft x 5 ft", "14x18 in square", "4x4 to 4x5 ft" or "?"."""
    said = value_text(reading, path, value, '"4x5 ft"')
    if said is None:
        return None
    text, words = said.strip(), said.strip().casefold()
    sizes = _SHAPE.sub(" ", words).strip()
    if cells.is_unknown(sizes):
        unknown = Quantity(None, None, "unknown", text)
        return Bale(unknown, unknown, text)
    about = _ABOUT.match(sizes)
    pairs = [_LENGTHS.fullmatch(end) for end in _ENDS.split(sizes[about.end() :] if about else sizes)]
    unit = _UNIT.search(sizes)
    sides = []
    for side in ("first", "second"):
        lengths = [
            _length(reading, path, key, value, length=pair[side], unit=unit and unit[0], about=bool(about))
            for pair in pairs
            if pair
        ]
        read = [length for length in lengths if length]
        if len(read) < len(pairs):
            if not all(pairs):
                reading.report(found.SheetValue, path, value, reason=f"{text!r} is no size of a bale", hint=key.meaning)
            return None
        sides.append(_span(read, text))
    return Bale(sides[0], sides[1], text)


def _length(
    reading: Reading, path: Path, key: Key, value: object, *, length: str, unit: str | None, about: bool
) -> Quantity | None:
    bare = not re.search(r"[^\d\s./]", length)
    written = f"{'about ' if about else ''}{length}{f' {unit}' if bare and unit else ''}"
    return checked(reading, path, key, value, lambda: cells.read_quantity(written, "m"))


def _span(lengths: Iterable[Quantity], text: str) -> Quantity:
    """Return one quantity from the smallest to the largest of several lengths."""
    ends = [(one.low or 0.0, one.high or 0.0, one.given) for one in lengths]
    low, high = min(one[0] for one in ends), max(one[1] for one in ends)
    given: Given = ends[0][2] if len({one[:2] for one in ends}) == 1 else "range"
    return Quantity(low, high, given, text)
