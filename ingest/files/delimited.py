"""Delimited text into a grid: its encoding, the mark that parts its columns, and its lines."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from itertools import islice

from evener.ingest.files import aligned, several, splitting
from evener.ingest.files.grids import (
    FEW,
    HEAD,
    LARGEST_CELL,
    Grid,
    NoTable,
    check_cells,
    check_width,
    fitted,
    grid_of,
    heading_place,
    headings_at,
    is_blank,
)
from evener.ingest.files.stacked import Knows, Row
from evener.ingest.text.texts import Coder, joined

DELIMITERS = (",", ";", "\t", "|")
_SAMPLE = 1 << 16
_PIECE = 1 << 20
# The Windows codepage is the last resort: it reads nearly any bytes, so it is named in the report.
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
# Some spreadsheet programs state the delimiter in a line of its own.
_STATED = re.compile(r"sep=(?P<mark>[,;\t|])\s*\Z", re.IGNORECASE)


def as_utf8(content: bytes) -> tuple[bytes, str]:
    """Return the text of some bytes in UTF-8, and the encoding it was read in.

    Raises
    ------
    NoTable
        The bytes are no text.
    """
    marked = next((encoding for mark, encoding in _MARKS if content.startswith(mark)), None)
    for encoding in [marked] if marked else ["utf-8", "cp1252"]:
        try:
            text = _turned(content, encoding)
        except UnicodeDecodeError:
            continue
        if b"\x00" in text:
            break
        return text, encoding
    raise NoTable("is no text in UTF-8, UTF-16 or Windows-1252. Save it as CSV in UTF-8.")


def _turned(content: bytes, encoding: str) -> bytes:
    if encoding not in ("utf-8", "utf-8-sig"):
        return content.decode(encoding).encode()
    # A piece at a time: one sign beyond the common ones would make the whole text take four times its bytes.
    decoder = codecs.getincrementaldecoder("utf-8")()
    for start in range(0, len(content), _PIECE):
        decoder.decode(content[start : start + _PIECE])
    decoder.decode(b"", final=True)
    return content.removeprefix(codecs.BOM_UTF8) if encoding == "utf-8-sig" else content


def delimiter_of(text: str) -> str:
    """Return the mark that parts the columns: the one stated, or the one that cuts the first lines most and evenly."""
    lines = [line for line in text[:_SAMPLE].splitlines() if line.strip()][:20]
    stated = _STATED.match(lines[0]) if lines else None
    if stated:
        return stated["mark"]

    def cut(mark: str) -> tuple[int, int]:
        widths = Counter(len(row) for row in csv.reader(lines, delimiter=mark) if len(row) > 1)
        width, rows = widths.most_common(1)[0] if widths else (1, 0)
        return rows, width

    return max(DELIMITERS, key=cut)


def grid_in(text: bytes, knows: Knows | None) -> Grid | None:
    """Return the grid of delimited text, or None when nothing is in it.

    Parameters
    ----------
    text : the whole file, in UTF-8
    knows : whether a text is a heading; the first row with anything in it is taken when left out

    Raises
    ------
    NoTable
        A quotation mark is not closed, a cell is longer than any value, or there are more cells than are read.
    """
    head = text[:_SAMPLE].decode(errors="ignore")  # a sign may be cut in two at its end
    mark = delimiter_of(head)
    end = head.find("\n")
    if end > 0 and _STATED.match(head[:end]):
        # A blank line stands in its place, so that the others keep their numbers.
        text = text[text.find(b"\n") :]
    lined_up = _lined_up(text, head, mark, knows)
    if lined_up is not None:
        return grid_of(lined_up, knows)
    if b'"' in text:
        return grid_of(_rows(text, mark), knows, mark)
    plain = text.replace(b"\r\n", b"\n") if b"\r" in text else text
    if b"\r" in plain:
        return grid_of(_rows(text, mark), knows, mark)
    return _plain_grid(plain, mark, knows)


def grids_in(text: bytes, knows: Knows | None) -> list[tuple[str, Grid | None]]:
    """Return the grids of delimited text that holds several tables, each with its title; else the one of `grid_in`.

    Parameters
    ----------
    text, knows : as in `grid_in`
    """
    head = text[:_SAMPLE].decode(errors="ignore")
    mark = delimiter_of(head)
    if knows is not None and text.count(b"\n") <= several.MOST and not _STATED.match(head[: head.find("\n") + 1]):
        tables = several.parted(list(_rows(text, mark)), knows)
        if len(tables) > 1:
            return [(title, grid_of(rows, knows, mark)) for title, rows in tables]
    return [("", grid_in(text, knows))]


def _lined_up(text: bytes, head: str, mark: str, knows: Knows | None) -> list[Row] | None:
    """Return the rows of a text whose columns are lined up with blanks, where no mark parts headings in it."""
    if knows is None or len(text) > _SAMPLE or '"' in head:
        return None
    lines = head.splitlines()[:HEAD]
    if max((sum(map(knows, line.split(mark))) for line in lines), default=0) >= FEW:
        return None
    rows = aligned.parted(head)
    named = max((sum(map(knows, cells)) for _, cells in rows or ()), default=0)
    return rows if named >= FEW else None


def _rows(text: bytes, mark: str) -> Iterator[Row]:
    csv.field_size_limit(LARGEST_CELL)
    reader = csv.reader(io.TextIOWrapper(io.BytesIO(text), "utf-8", newline=""), delimiter=mark, strict=True)
    line = 1
    try:
        for cells in reader:
            yield line, cells
            line = reader.line_num + 1
    except csv.Error as error:
        raise NoTable(f"cannot be read from line {line} on: {error}. Look for an open quotation mark.") from None


def _plain_grid(text: bytes, mark: str, knows: Knows | None) -> Grid | None:
    """Return the grid of text without quotation marks, where each line is a row."""
    whole_lines = text.rfind(b"\n", 0, _SAMPLE) + 1
    head = list(islice(_rows(text[:whole_lines], mark), HEAD))
    place = heading_place(head, knows)
    if place is None or len(text) <= _SAMPLE:
        return grid_of(_rows(text, mark), knows, mark)
    upper, place, headings = headings_at(head, place, knows)
    line = head[place][0]
    check_width(headings)
    check_cells(text.count(b"\n") * len(headings))
    start = 0
    for _ in range(line):
        start = text.find(b"\n", start) + 1 or len(text)
    lines, columns, odd = splitting.split(text, start, line + 1, mark, len(headings))
    grid = Grid(head[:upper], line, headings, lines, columns, [])
    fits: list[Row] = []
    for at, cells in odd:
        fit = None if is_blank(cells) else fitted(cells, headings, mark)
        if fit is None:
            grid.odd.append((at, cells))
        else:
            fits.append((at, fit))
    return _with_rows(grid, fits) if fits else grid


def _with_rows(grid: Grid, rows: list[Row]) -> Grid:
    import numpy as np

    lines = np.concatenate([grid.lines, [line for line, _ in rows]])
    order = np.argsort(lines, kind="stable")
    columns = []
    for held, texts in zip(grid.columns, zip(*(cells for _, cells in rows), strict=True), strict=True):
        coder = Coder()
        coder.add(texts)
        columns.append(joined([held, coder.column()]).take(order))
    grid.lines, grid.columns = lines[order], columns
    return grid
