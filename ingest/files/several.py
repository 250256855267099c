"""Several tables in one file, one under the other, each with headings of its own."""

from __future__ import annotations

import re
from collections.abc import Sequence

from evener.ingest.files.grids import HEAD, heading_place, headings_at
from evener.ingest.files.stacked import Knows, Row

MOST = 1 << 14  # lines; a longer file was made by a program, which writes one table
_FEWEST = 3  # headings that a further row must hold
_SHARE = 0.6  # of its cells that must be headings
_FIGURES = re.compile(r"[\d.,' ]+")


def parted(rows: Sequence[Row], knows: Knows | None) -> list[tuple[str, list[Row]]]:
    """Return the tables of a file, each with the title above its headings; a single one is left as it is.

    Headings that stand again as they are begin no table.

    Parameters
    ----------
    rows : all rows of the file
    knows : whether a text is a heading
    """
    whole = [("", list(rows))]
    place = heading_place(list(rows[:HEAD]), knows)
    if knows is None or place is None or len(rows) > MOST:
        return whole
    _, lower, headings = headings_at(list(rows[:HEAD]), place, knows)
    starts: list[tuple[int, str]] = []
    last = lower
    for at in range(lower + 2, len(rows)):
        cells = rows[at][1]
        if at > last + 1 and _names_columns(cells, knows) and _differ(cells, headings, knows):
            starts.append(_titled(rows, at, last))
            last, headings = at, cells
    tables: list[tuple[str, list[Row]]] = []
    begin, title = 0, _titled(rows, place, -1)[1]
    for start, above in [*starts, (len(rows), "")]:
        tables.append((title, list(rows[begin:start])))
        begin, title = start, above
    return tables if starts else whole


def _names_columns(cells: Sequence[str], knows: Knows) -> bool:
    said = [cell for cell in cells if cell.strip()]
    known = sum(map(knows, said))
    return known >= _FEWEST and known >= _SHARE * len(said) and not any(_FIGURES.fullmatch(cell) for cell in said)


def _differ(cells: Sequence[str], headings: Sequence[str], knows: Knows) -> bool:
    """Tell whether a row of headings names some column otherwise than the headings above do."""
    for place, cell in enumerate(cells):
        named = " ".join(cell.split()).casefold()
        above = " ".join(headings[place].split()).casefold() if place < len(headings) else ""
        if named and knows(cell) and not f" {above}".endswith(f" {named}"):
            return True
    return False


def _titled(rows: Sequence[Row], at: int, last: int) -> tuple[int, str]:
    """Return where a table begins, its title with it, and that title."""
    start, title = at, ""
    while start - 1 > last:
        cells = rows[start - 1][1]
        said = [cell.strip() for cell in cells if cell.strip()]
        if len(said) > 1 or (len(said) == 1 and title):
            break
        title = title or (said[0] if said else "")
        start -= 1
    return start, title.strip(" :")
