"""A small sheet on its side: headings down the first column and a column for each machine, turned the usual way."""

from __future__ import annotations

from collections.abc import Sequence

from evener.ingest.files.stacked import Knows, Row

_FEWEST = 3  # headings down the first column
_SHARE = 0.6  # of its cells that must be headings
_LEAST_WIDE = 2


def turned(head: Sequence[Row], knows: Knows | None) -> list[Row] | None:
    """Return the rows of a sheet that stands on its side, each with the place of its column, or None.

    It is turned only where no row names columns: a list whose first column holds words that are headings stays.

    Parameters
    ----------
    head : all rows of the file
    knows : whether a text is a heading
    """
    if knows is None:
        return None
    rows = [cells for _, cells in head if any(cell.strip() for cell in cells[1:])]
    first = [cells[0].strip() for cells in rows if cells[0].strip()]
    known = {cell.casefold() for cell in first if knows(cell)}
    if len(known) < _FEWEST or len(known) < _SHARE * len(first) or len(set(first)) < len(first):
        return None
    width = max(len(cells) for cells in rows)
    across = max(sum(knows(cell) for cell in cells[1:] if cell.strip()) for cells in rows)
    if width < _LEAST_WIDE or across > 1:
        return None
    return [(place + 1, [cells[place] if place < len(cells) else "" for cells in rows]) for place in range(width)]
