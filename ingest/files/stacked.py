"""Two heading rows, one over the other: a group over its columns, "Loader" over "Height", joined to one heading each.

A column is never read by the lower heading alone where a group stands over it: a loader's height is no tractor's.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

Row = tuple[int, list[str]]
Knows = Callable[[str], bool]

_FEWEST = 2  # cells that a row must fill to be a row of groups
_MOST_WORDS = 4
_FIGURES = re.compile(r"[\d.,' ]+")
_BARE_UNIT = re.compile(r"[(\[].*[)\]]|[^\w\s]+")


def stacked(head: Sequence[Row], place: int, knows: Knows | None) -> tuple[int, list[str]] | None:
    """Return the place of the lower of two heading rows and the headings they are together, or None for a single row.

    Parameters
    ----------
    head : first rows of the file
    place : which of them has most headings
    knows : whether a text is a heading
    """
    if knows is None:
        return None
    if place + 1 < len(head) and _is_lower(head[place][1], head[place + 1][1], knows):
        return place + 1, _joined(head[place][1], head[place + 1][1], knows)
    if place > 0 and _is_upper(head[place - 1][1], head[place][1]):
        return place, _joined(head[place - 1][1], head[place][1], knows)
    return None


def _words(cell: str) -> int:
    return len(cell.split())


def _is_group_row(row: Sequence[str]) -> bool:
    said = [cell for cell in row if cell.strip()]
    return (
        len(said) >= _FEWEST
        and all(_words(cell) <= _MOST_WORDS and not _FIGURES.fullmatch(cell.strip()) for cell in said)
    ) or (len(said) == 1 and not row[0].strip() and _words(said[0]) <= _MOST_WORDS)


def _is_upper(row: Sequence[str], below: Sequence[str]) -> bool:
    # Groups stand over several columns or leave some without; a title stands alone at the left.
    return _is_group_row(row) and any(not cell.strip() for cell in row[: len(below)])


def _is_lower(upper: Sequence[str], row: Sequence[str], knows: Knows) -> bool:
    said = [cell.strip() for cell in row if cell.strip()]
    if not said or not any(not cell.strip() for cell in upper[: len(row)]) or not _is_group_row(upper):
        return False
    known = sum(map(knows, said)) + sum(bool(_BARE_UNIT.fullmatch(cell)) for cell in said)
    figures = any(_FIGURES.fullmatch(cell) for cell in said)
    return known >= _FEWEST and 2 * known >= len(said) and not figures


def _joined(upper: Sequence[str], lower: Sequence[str], knows: Knows) -> list[str]:
    headings: list[str] = []
    group = ""
    for place, below in enumerate(lower):
        above = upper[place].strip() if place < len(upper) else ""
        group = above or group
        whole = " ".join(f"{group} {below.strip()}".split())
        if not below.strip():
            headings.append(above)
        elif above or (group and knows(whole)):
            headings.append(whole)
        else:
            headings.append(_under_none(group, below.strip(), knows))
    return headings


def _under_none(group: str, below: str, knows: Knows) -> str:
    """Return a heading with nothing over it: its own where no group may reach over it."""
    if not group or _has_no_unit(below):
        return below
    return f"{group} {below}" if not knows(below) else f"{group}: {below}"


def _has_no_unit(heading: str) -> bool:
    return not re.search(r"[(\[,]", heading)
