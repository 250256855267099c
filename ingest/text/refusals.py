"""Why a cell's text cannot be read: the error that says best what is wrong and what to write instead."""

from __future__ import annotations

import re

from evener.ingest.text import amounts, cell_words
from evener.ingest.text.cell_errors import CellError, FootnoteMark, WrongUnit
from evener.ingest.text.signs import footnote, strange, tidied
from evener.schema import units

MISSING = cell_words.words("nothing")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?: \d{2}:\d{2}:\d{2}(?:\.\d+)?)?", re.ASCII)
_ONE_SIDED = re.compile(r"(?:[<>≤≥]|(?:up to|at least|at most|over|under|more than|less than|max|min)\b).*|.*\d ?\+.*")


def marked(text: str) -> FootnoteMark | None:
    """Return the error a text is that bears the mark of a footnote, or None."""
    sign = footnote(text)
    if sign is None:
        return None
    return FootnoteMark(
        f"{text.strip()!r} holds {sign!r}, the mark of a footnote or a power",
        "write the value alone, and what the note says in a column of remarks",
    )


def turned_error(text: str) -> CellError | None:
    """Return the error a text is that a spreadsheet program made of a cell: a formula without its result, or a date."""
    shown = text.strip()
    if shown.startswith("="):
        return CellError(
            f"{shown!r} is a formula without a stored result",
            "open the file in a spreadsheet program and save it, or write the value",
        )
    if _DATE.fullmatch(shown):
        return CellError(
            f"{shown!r} is a date, which spreadsheet programs make of 1/2 or 3-5",
            "format the column as text and write the value again",
        )
    return None


def refusal(text: str, mark: str) -> CellError:
    """Return the error that says best why a text is not in the grammar."""
    shown, tidy = text.strip(), tidied(text)
    if tidy in MISSING:
        return CellError(f"{shown!r} gives no value", 'write a value with its unit, or "?" when it is not known')
    turned = turned_error(text)
    if turned is not None:
        return turned
    odd = strange(tidy)
    if odd is not None:
        return CellError(f"{shown!r} holds {odd}, which is no part of a number or unit", "write plain digits")
    if re.search(r"\d_\d", tidy):
        return CellError(f"{shown!r} has an underscore in a number", f"write {shown.replace('_', '')}")
    if _ONE_SIDED.fullmatch(tidy):
        return CellError(f"{shown!r} gives only one end", 'write a range, such as "1 to 3 in"')
    other = "," if mark == "." else "."
    if amounts.read(tidy, other) is not None:
        name = {".": "point", ",": "comma"}
        return CellError(
            f"{shown!r} can only be read with a decimal {name[other]}, and the decimal mark here is the {name[mark]}",
            f"write the number with a decimal {name[mark]}",
        )
    found = amounts.AMOUNT[mark].fullmatch(tidy)
    if found and found["unit"]:
        if re.search(r"(?<![a-z])\d|\d.", found["unit"]) or _two_units(found["unit"]):
            return CellError(f"{shown!r} holds more than one value or unit", "write one value with one unit")
        try:
            units.find(found["unit"])
        except units.UnknownUnit as error:
            return WrongUnit(
                f"{shown!r}: {error.message}", error.remedy or "write the unit as the trade does: ft, lb, hp, gal"
            )
    return CellError(f"{shown!r} is not a number with a unit", 'write it as "8 ft", "1 to 3 in", "about 2 in" or "?"')


def _two_units(spelling: str) -> bool:
    parts = re.split(r"[ /,(]+", spelling.rstrip(")"))
    return len(parts) > 1 and all(units.known(part) for part in parts)
