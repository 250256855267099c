"""Rows of text into a grid: the row of headings, the columns under it, and the rows that do not fit them.

The row of headings is the one in which headings are recognised; what stands above it is kept apart. A row fits when
every heading has its cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, islice

import numpy as np
from numpy.typing import NDArray

from evener.ingest import ceilings
from evener.ingest.files.sideways import turned
from evener.ingest.files.stacked import Knows, Row, stacked
from evener.ingest.text.texts import Coder, Texts

LARGEST_CELL = 1 << 20
MOST_COLUMNS = 1000
HEAD = 40  # rows among which the headings are looked for
FEW = 2  # headings that must be recognised before a row further down is taken for the one of headings
_CURRENCY_SIGNS = tuple("$€£")
_THREE = 3
_CHUNK = 1 << 15
_PART = "Part it into several files, or leave out columns that no field takes."


class NoTable(Exception):
    """Content that holds no table; the text says why, and lacks only the name of the file."""


@dataclass
class Grid:
    """A file's rows, parted.

    Attributes
    ----------
    above : rows that stand above the headings
    heading_line : line of the headings
    headings : the headings as written, blank ones among them
    lines : line of the file each row begins on, counted from 1
    columns : the cells under each heading
    odd : blank rows and rows with another number of cells, by line
    is_turned : whether the sheet stood on its side, and lines are the places of its columns
    """

    above: list[Row]
    heading_line: int
    headings: list[str]
    lines: NDArray[np.int64]
    columns: list[Texts]
    odd: list[Row]
    is_turned: bool = False


def is_blank(cells: Iterable[str]) -> bool:
    """Tell whether no cell holds anything."""
    return not any(cell.strip() for cell in cells)


def heading_place(head: list[Row], knows: Knows | None) -> int | None:
    """Return which of the first rows holds the headings; the first that is not blank when none is recognised.

    Parameters
    ----------
    head : first rows of the file
    knows : whether a text is a heading of the nomenclature; the first row with anything in it is taken when left out
    """
    filled = [place for place, (_, cells) in enumerate(head) if not is_blank(cells)]
    if not filled:
        return None
    best, most = filled[0], FEW - 1
    for place in filled if knows else ():
        cells = [cell for cell in head[place][1] if cell.strip()]
        known = sum(map(knows, cells)) if knows else 0
        if known > most:
            best, most = place, known
        if most >= FEW and 2 * most > len(cells):
            break
    return best


def headings_at(head: list[Row], place: int, knows: Knows | None) -> tuple[int, int, list[str]]:
    """Return the places of the upper and the lower of the heading rows, most often one, and the headings.

    Parameters
    ----------
    head, knows : as in `heading_place`
    place : the row with most headings
    """
    joined = stacked(head, place, knows)
    if joined is None:
        return place, place, head[place][1]
    lower, headings = joined
    return lower - 1, lower, headings


def named_width(headings: list[str]) -> int:
    """Return how many columns there are up to the last heading that is not blank."""
    return max((place for place, heading in enumerate(headings, 1) if heading.strip()), default=0)


def check_width(headings: list[str]) -> None:
    """Refuse more columns than any list has.

    Raises
    ------
    NoTable
        There are more than 1000.
    """
    if named_width(headings) > MOST_COLUMNS:
        raise NoTable(f"has {named_width(headings)} columns; the most that is read is {MOST_COLUMNS}.")


def check_cells(count: int) -> None:
    """Refuse more cells than are read of one file.

    Raises
    ------
    NoTable
        There are more.
    """
    if count > ceilings.MOST_CELLS:
        raise NoTable(f"has more than {ceilings.MOST_CELLS:,} cells, the most that is read at once. {_PART}")


def check_odd(count: int) -> None:
    """Refuse more lines than a list ever has that are blank or do not fit the headings.

    Raises
    ------
    NoTable
        There are more.
    """
    if count > ceilings.MOST_ODD:
        many = f"{ceilings.MOST_ODD:,} lines that are blank or have another number of cells than the headings"
        raise NoTable(f"has more than {many}. Look at the row of headings, and at the mark that parts the columns.")


def check_texts(count: int) -> None:
    """Refuse more different texts than the memory holds: a list repeats its words, and each is held once.

    Parameters
    ----------
    count : bytes that the different texts take

    Raises
    ------
    NoTable
        There are more.
    """
    if count > ceilings.MOST_TEXT:
        many = f"{ceilings.MOST_TEXT >> 20} MB of different texts"
        raise NoTable(f"holds more than {many}, the most that is read at once. {_PART}")


def fitted(cells: list[str], headings: list[str], mark: str = "") -> list[str] | None:
    """Return a row's cells, one per heading, or None when they are too few or too many.

    Blank cells beyond the last heading are not too many, and missing ones under blank headings not too few. A remark at
    the end that was parted at its own commas is joined again: behind a comma of a sentence stands a blank, and behind
    those between columns none.

    Parameters
    ----------
    cells : the row's
    headings : of the columns
    mark : what parts the columns, in a file of text
    """
    width = len(headings)
    if mark and len(cells) > width > 1 and all(cell[:1] == " " and cell.strip() for cell in cells[width:]):
        before = cells[1:width]
        if cells[width - 1].strip() and not any(cell[:1] == " " for cell in before):
            return [*cells[: width - 1], mark.join(cells[width - 1 :])]
    if len(cells) > width and is_blank(cells[width:]):
        # "$24,900," may be one price parted at its comma, and no cell too many.
        return None if mark == "," and any(map(_is_parted_price, cells, cells[1:])) else cells[:width]
    if named_width(headings) <= len(cells) < width:
        return cells + [""] * (width - len(cells))
    return cells if len(cells) == width else None


def _is_parted_price(cell: str, following: str) -> bool:
    return cell.strip()[:1] in _CURRENCY_SIGNS and len(following.strip()) == _THREE and following.strip().isdigit()


def grid_of(rows: Iterable[Row], knows: Knows | None, mark: str = "") -> Grid | None:
    """Return the grid of some rows, or None when nothing is in them.

    Parameters
    ----------
    rows : line and cells of each row, blank ones among them
    knows : as in `heading_place`
    mark : as in `fitted`

    Raises
    ------
    NoTable
        There are more columns or cells than any list has.
    """
    coming = iter(rows)
    head = list(islice(coming, HEAD))
    beyond = list(islice(coming, 1))
    coming = chain(beyond, coming)
    upright = None if beyond or not head else turned(head, knows)
    head = head if upright is None else upright
    place = heading_place(head, knows)
    while place is None:
        head = list(islice(coming, HEAD))
        if not head:
            return None
        place = heading_place(head, knows)
    upper, place, headings = headings_at(head, place, knows)
    line = head[place][0]
    check_width(headings)
    grid = Grid(head[:upper], line, headings, np.empty(0, np.int64), [], [], upright is not None)
    coders = [Coder() for _ in headings]
    lines: list[int] = []
    for chunk in _chunks(chain(head[place + 1 :], coming)):
        even: list[list[str]] = []
        for at, cells in chunk:
            fit = None if is_blank(cells) else fitted(cells, headings, mark)
            if fit is None:
                grid.odd.append((at, cells))
            else:
                even.append(fit)
                lines.append(at)
        check_cells(len(lines) * len(headings))
        check_odd(len(grid.odd))
        for coder, column in zip(coders, zip(*even, strict=True), strict=bool(even)):
            coder.add(column)
        check_texts(sum(coder.distinct_bytes for coder in coders))
    grid.lines = np.array(lines, np.int64)
    grid.columns = [coder.column() for coder in coders]
    return grid


def _chunks(rows: Iterator[Row]) -> Iterator[list[Row]]:
    while chunk := list(islice(rows, _CHUNK)):
        yield chunk
