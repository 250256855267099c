"""From a file's bytes to a table: columns of text under headings, each row with the line it stands on.

The bytes are read here, and never a path handed on: a path can mean something else to a library than to the person who
typed it. What the bytes are is told by themselves, not by the file's name.
"""

from __future__ import annotations

import dataclasses
import hashlib
import stat
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.ceilings import LARGEST_FILE
from evener.ingest.files import delimited, layout, parquet, several, workbook
from evener.ingest.files.grids import Grid, NoTable, grid_of
from evener.ingest.files.stacked import Knows, Row
from evener.ingest.findings import Finding
from evener.ingest.text.cells import DecimalMark
from evener.ingest.text.texts import Texts
from evener.ingest.text.typed_cells import as_text, decimal_of

STANDARD_INPUT = "-"
_ARCHIVE = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


class UnreadableFile(Exception):
    """A file that cannot be read as a table; the text says what is wrong and what to do."""

    exit_status: ClassVar[int] = 2


@dataclass(frozen=True)
class Table:
    """A file as columns of text.

    Attributes
    ----------
    name : name of the file without its folder
    sha256 : hash of its bytes
    encoding : how they were decoded
    headers : column headings as written, with their place behind those that stand twice
    columns : the cells of each column, one per row; some read from others may stand behind
    lines : line of the file each row begins on, counted from 1
    units : unit that a row of units gives each column, or None
    findings : what was noticed on the way; rows it refuses are not among the columns
    refused : text of the rows that have no place in the columns, by line
    decimal : decimal mark its cells of text are written with, where its numbers come with their type; None elsewhere
    sheet : name of the sheet it stands on; empty outside workbooks
    places : place of each column in the file, counted from 1; 0 for one that was read from others
    """

    name: str
    sha256: str
    encoding: str
    headers: tuple[str, ...]
    columns: tuple[Texts, ...]
    lines: NDArray[np.int64]
    units: tuple[str | None, ...] = ()
    findings: tuple[Finding, ...] = ()
    refused: dict[int, tuple[str, ...]] = field(default_factory=dict)
    decimal: DecimalMark | None = None
    sheet: str = ""
    places: tuple[int, ...] = ()

    def row(self, position: int) -> dict[str, str]:
        """Return one row as text by heading, as it stands in the file."""
        return {header: column[position] for header, column in zip(self.headers, self.columns, strict=False)}


def read(path: Path, *, sheet: str | None = None, knows: Knows | None = None, decimal: DecimalMark = "") -> Table:
    """Return a file's table.

    Parameters
    ----------
    path : delimited text, an XLSX workbook or a Parquet file; "-" for standard input
    sheet : name of the sheet of a workbook
    knows : whether a text is a heading of the nomenclature
    decimal : decimal mark of the file where it is known

    Raises
    ------
    UnreadableFile
        There is no such file, it may not be read, or it holds no table.
    """
    if str(path) == STANDARD_INPUT:
        name, content = "standard input", sys.stdin.buffer.read(LARGEST_FILE + 1)
    else:
        name, content = path.name, _content(path)
    _check_size(content, name)
    return read_bytes(content, name, sheet=sheet, knows=knows, decimal=decimal)


def read_all(
    path: Path, *, sheet: str | None = None, knows: Knows | None = None, decimal: DecimalMark = ""
) -> tuple[Table, ...]:
    """Return every table of a file: of a workbook, one for each visible sheet that holds a list.

    Parameters
    ----------
    path, sheet, knows, decimal : as in `read`

    Raises
    ------
    UnreadableFile
        There is no such file, it may not be read, or it holds no table.
    """
    content = sys.stdin.buffer.read(LARGEST_FILE + 1) if str(path) == STANDARD_INPUT else _content(path)
    name = "standard input" if str(path) == STANDARD_INPUT else path.name
    _check_size(content, name)
    try:
        is_book = content.startswith(_ARCHIVE) and sheet is None
        names = workbook.sheets_with_lists(content, knows) if is_book else []
        if len(names) < 2:
            return _tables(content, name, sheet, knows, decimal)
        tables = [one for each in names for one in _tables(content, name, each, knows, decimal)]
    except NoTable as error:
        raise UnreadableFile(f"{name} {error}") from None
    read_too = set(names)
    return tuple(
        dataclasses.replace(table, findings=tuple(one for one in table.findings if not _names_only(one, read_too)))
        for table in tables
    )


def _check_size(content: bytes, name: str) -> None:
    if len(content) > LARGEST_FILE:
        raise UnreadableFile(f"{name} is larger than {LARGEST_FILE >> 20} MB. Part it into several files.")


def _names_only(finding: Finding, read_too: set[str]) -> bool:
    """Tell whether a finding names as unread only sheets that are read beside this one."""
    return isinstance(finding, findings.OtherSheets) and set(finding.values["names"]) <= read_too


def _content(path: Path) -> bytes:
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise UnreadableFile(f"{path.name} is no regular file. Name a CSV, XLSX or Parquet file, or - for a pipe.")
        with path.open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise UnreadableFile(f"there is no file {path}. Check its name.") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "its name cannot be used"
        raise UnreadableFile(f"{path.name} cannot be read: {reason}. Check its rights.") from None


def read_bytes(
    content: bytes, name: str, *, sheet: str | None = None, knows: Knows | None = None, decimal: DecimalMark = ""
) -> Table:
    """Return the table in a file's bytes.

    Parameters
    ----------
    content : the file's bytes
    name : what to call it in the report
    sheet, knows, decimal : as in `read`

    Raises
    ------
    UnreadableFile
        The bytes hold no table.
    """
    try:
        return _read(content, name, sheet, knows, decimal)
    except NoTable as error:
        raise UnreadableFile(f"{name} {error}") from None


def _read(content: bytes, name: str, sheet: str | None, knows: Knows | None, decimal: DecimalMark) -> Table:
    if content.startswith(_ARCHIVE):
        return _workbook(content, name, sheet, knows, decimal)
    if sheet is not None:
        raise NoTable("is no workbook, so it has no sheets. Leave --sheet out.")
    if content.startswith(_OLD_WORKBOOK):
        raise NoTable("is a workbook of the older kind, or locked with a password. Save it as .xlsx without one.")
    if content.startswith(parquet.MAGIC):
        return _parquet(content, name, knows, decimal)
    text, encoding = delimited.as_utf8(content)
    return _table(content, name, encoding, delimited.grid_in(text, knows), _of_encoding(encoding))


def _tables(
    content: bytes, name: str, sheet: str | None, knows: Knows | None, decimal: DecimalMark
) -> tuple[Table, ...]:
    """Return the tables of one sheet or text: one, or several under each other, whose titles stand for a sheet's."""
    if content.startswith(_ARCHIVE):
        return _of_sheet(content, name, sheet, knows, decimal)
    if sheet is not None or content.startswith((_OLD_WORKBOOK, parquet.MAGIC)):
        return (_read(content, name, sheet, knows, decimal),)
    text, encoding = delimited.as_utf8(content)
    grids = delimited.grids_in(text, knows)
    return tuple(
        dataclasses.replace(_table(content, name, encoding, grid, [] if place else _of_encoding(encoding)), sheet=title)
        for place, (title, grid) in enumerate(grids)
    )


def _of_encoding(encoding: str) -> list[Finding]:
    return [findings.GuessedEncoding(values={"encoding": encoding})] if encoding == "cp1252" else []


def _table(
    content: bytes,
    name: str,
    encoding: str,
    grid: Grid | None,
    noticed: list[Finding],
    decimal: DecimalMark | None = None,
) -> Table:
    if grid is None:
        raise NoTable("holds no rows. One row must name the columns.")
    laid = layout.laid_out(grid)
    return Table(
        name=name,
        sha256=hashlib.sha256(content).hexdigest(),
        encoding=encoding,
        headers=laid.headings,
        columns=laid.columns,
        lines=laid.lines,
        units=laid.units,
        findings=(*laid.findings, *noticed),
        refused=laid.refused,
        places=laid.places,
        decimal=decimal,
    )


def _typed(rows: Iterable[Sequence[Any]], mark: DecimalMark) -> Iterator[Row]:
    """Yield rows of typed cells as text; the sign that no text holds is refused as it is in every other format."""
    for line, row in enumerate(rows, 1):
        texts = [as_text(cell, mark) for cell in row]
        if any("\x00" in text for text in texts):
            raise NoTable(f"holds a NUL sign on line {line}, which no text does. Write it again.")
        yield line, texts


def _workbook(content: bytes, name: str, sheet: str | None, knows: Knows | None, decimal: DecimalMark) -> Table:
    tables = _of_sheet(content, name, sheet, knows, decimal)
    if len(tables) > 1:
        raise NoTable("has several tables on a sheet, each with its headings. Put each on a sheet of its own.")
    return tables[0]


def _of_sheet(
    content: bytes, name: str, sheet: str | None, knows: Knows | None, decimal: DecimalMark
) -> tuple[Table, ...]:
    page = workbook.read_sheet(content, sheet, knows)
    filled = workbook.filled_down(page["rows"], page["merged"], knows)
    mark = decimal or decimal_of(cell for row in page["rows"] for cell in row)
    noticed: list[Finding] = []
    if page["others"]:
        others = ", ".join(map(repr, page["others"]))
        noticed.append(findings.OtherSheets(values={"sheet": page["sheet"], "others": others, "names": page["others"]}))
    parts: list[tuple[str, Iterable[Row]]] = [("", _typed(page["rows"], mark))]
    if knows is not None and len(page["rows"]) <= several.MOST:
        parts = [*several.parted(list(_typed(page["rows"], mark)), knows)]
    tables: list[Table] = []
    for title, rows in parts:
        grid = grid_of(rows, knows)
        if not tables:
            noticed += _merged(page["merged"], filled, grid.heading_line if grid else 0)
        table = _table(content, name, f"xlsx, sheet {page['sheet']}", grid, [] if tables else noticed, mark)
        tables.append(dataclasses.replace(table, sheet=title or page["sheet"]))
    return tuple(tables)


def _merged(merged: Sequence[workbook.Merged], filled: set[workbook.Merged], below: int) -> Iterator[Finding]:
    """Yield what is to be said of cells that are merged over rows of the table."""
    for (top, left), (bottom, right) in merged:
        if bottom > top and bottom >= below:
            cells = f"{workbook.cell_name(top, left)}:{workbook.cell_name(bottom, right)}"
            kind = findings.MergedWords if ((top, left), (bottom, right)) in filled else findings.MergedCells
            yield kind(row=top + 1, values={"cells": cells})


def _parquet(content: bytes, name: str, knows: Knows | None, decimal: DecimalMark) -> Table:
    page = parquet.read_rows(content)
    mark = decimal or decimal_of(cell for row in page["rows"] for cell in row)
    grid = grid_of(chain([(0, page["headings"])], _typed(page["rows"], mark)), knows)
    return _table(content, name, "parquet", grid, [], mark)
