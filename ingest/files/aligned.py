"""Text whose columns are lined up with blanks, as programs for terminals print it."""

from __future__ import annotations

import re

_FEWEST_COLUMNS = 3
_FEWEST_LINES = 3
_MOST_TITLES = 3  # lines above the headings that may reach across the gaps
_GAP = 2


def parted(text: str) -> list[tuple[int, list[str]]] | None:
    """Return the rows of lined-up text with their lines, or None where no gaps of two blanks run down all of it.

    Parameters
    ----------
    text : the whole file
    """
    lines = [(at, line.rstrip()) for at, line in enumerate(text.splitlines(), 1)]
    filled = [(at, line) for at, line in lines if line]
    if any("\t" in line for _, line in filled):
        return None
    for titles in range(min(_MOST_TITLES, len(filled)) + 1):
        body = filled[titles:]
        if len(body) < _FEWEST_LINES:
            return None
        columns = _columns([line for _, line in body])
        if len(columns) >= _FEWEST_COLUMNS:
            above = [(at, [line]) for at, line in filled[:titles]]
            return [*above, *((at, [line[start:stop].strip() for start, stop in columns]) for at, line in body)]
    return None


def _columns(lines: list[str]) -> list[tuple[int, int]]:
    """Return where each column begins and the next one does."""
    width = max(map(len, lines))
    taken = "".join(
        " " if all(line[place : place + 1] in ("", " ") for line in lines) else "x" for place in range(width)
    )
    starts = [found.end() for found in re.finditer(rf"^ *| {{{_GAP},}}", taken)]
    starts = [start for start in dict.fromkeys(starts) if start < width]
    return list(zip(starts, [*starts[1:], width], strict=True))
