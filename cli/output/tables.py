"""A table drawn for a screen: words stay whole, and columns that may go make room where it is too narrow."""

from __future__ import annotations

import io
import re
from collections.abc import Collection, Sequence
from typing import Literal

BETWEEN = 2
# Longer words than this are broken: a path or a sum of bytes would push every other column out.
LONGEST_WORD = 30
# Stands for the blank between a number and its unit while lines are broken: no text holds it.
HELD = "\ue000"
MEASURE = re.compile(r"(?<=\d) (?=(?:%|hp|kW|lb|kg|t|ft|in|m|mm|cm|ac|ha|gal|L|h|mph|km|km/h|rpm|USD)\b|%)")


def fitting(header: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> int:
    """Return how many columns, from the left, a screen has room for with every word whole; at least one."""
    room = width + BETWEEN
    for count, least in enumerate(_least(header, rows)):
        room -= least + BETWEEN
        if room < 0:
            return max(1, count)
    return len(header)


def drawn(header: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int], width: int) -> list[str]:
    """Return the lines of a table; columns in `right` are aligned to the right."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, padding=(0, BETWEEN, 0, 0), pad_edge=False, show_edge=False, header_style="")
    header, rows = [_held(name) for name in header], [[_held(cell) for cell in row] for row in rows]
    for position, (name, wide) in enumerate(zip(header, _widths(header, rows, width), strict=True)):
        justify: Literal["left", "right"] = "right" if position in right else "left"
        table.add_column(Text(name), justify=justify, overflow="fold", width=wide)
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    screen = io.StringIO()
    Console(file=screen, width=width, color_system=None, legacy_windows=False).print(table)
    return [line.rstrip().replace(HELD, " ") for line in screen.getvalue().splitlines()]


def _least(header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[int]:
    from rich.cells import cell_len

    least = []
    header, rows = [_held(name) for name in header], [[_held(cell) for cell in row] for row in rows]
    for position, name in enumerate(header):
        words = [cell_len(word) for cell in (name, *(row[position] for row in rows)) for word in cell.split()]
        is_id = position == 0 and all(" " not in row[0] for row in rows)  # an id is typed again as it stands
        least.append(max(words, default=1) if is_id else min(LONGEST_WORD, max(words, default=1)))
    return least


def _held(text: str) -> str:
    """Return a text whose numbers keep their units on their line."""
    return MEASURE.sub(HELD, text)


def _widths(header: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Give every column its longest word, then share the rest out, so that what is nearly whole becomes whole first."""
    from rich.cells import cell_len

    widths = _least(header, rows)
    whole = [max(map(cell_len, column)) for column in zip(header, *rows, strict=True)]
    rest = width - sum(widths) - BETWEEN * (len(header) - 1)
    while rest < 0 and max(widths) > 1:
        widths[widths.index(max(widths))] -= 1
        rest += 1
    wanting = sorted(range(len(header)), key=lambda position: whole[position] - widths[position])
    for done, position in enumerate(wanting):
        given = max(0, min(whole[position] - widths[position], rest // (len(wanting) - done)))
        widths[position] += given
        rest -= given
    return [max(1, one) for one in widths]
