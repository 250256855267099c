"""From a file's bytes to columns of text, each row with the line it stands on.

The bytes are read and decoded here, and never a path handed on: a path can mean something else to a library than to the
person who typed it.
"""

from __future__ import annotations

import csv
import hashlib
import io
import stat
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import ClassVar

from evener.ingest import findings
from evener.ingest.findings import Finding

DELIMITERS = (",", ";", "\t", "|")
LARGEST_CELL = 1 << 20
MOST_COLUMNS = 1000
# The Windows codepage is the last resort: it reads nearly any bytes, so it is named in the report.
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


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
    headers : column headings as written
    columns : the cells of each column, one per row
    lines : line of the file each row begins on, counted from 1
    findings : what was noticed on the way; rows it refuses are not among the columns
    refused : text of the rows that have no place in the columns, by line
    """

    name: str
    sha256: str
    encoding: str
    headers: tuple[str, ...]
    columns: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    findings: tuple[Finding, ...] = ()
    refused: dict[int, tuple[str, ...]] = field(default_factory=dict)

    def row(self, position: int) -> dict[str, str]:
        """Return one row as text by heading, as it stands in the file."""
        return {header: column[position] for header, column in zip(self.headers, self.columns, strict=True)}


def read(path: Path) -> Table:
    """Return a file's table.

    Parameters
    ----------
    path : a file of delimited text

    Raises
    ------
    UnreadableFile
        There is no such file, it may not be read, or it holds no table.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise UnreadableFile(f"{path.name} is no regular file. Name a file of comma-separated values.")
        content = path.read_bytes()
    except FileNotFoundError:
        raise UnreadableFile(f"There is no file {path}. Check its name.") from None
    except OSError as error:
        raise UnreadableFile(f"{path.name} cannot be read: {error.strerror}. Check its rights.") from None
    return read_bytes(content, path.name)


def read_bytes(content: bytes, name: str) -> Table:
    """Return the table in the bytes of a file of delimited text.

    Parameters
    ----------
    content : the file's bytes
    name : what to call it in the report

    Raises
    ------
    UnreadableFile
        The bytes are no text, or hold no table.
    """
    text, encoding = decode(content, name)
    rows = list(_split(text, name))
    if not rows:
        raise UnreadableFile(f"{name} holds no rows. The first line must name the columns.")
    headers = tuple(cell.strip() for cell in rows[0][1])
    while headers and not headers[-1]:
        headers = headers[:-1]
    if len(headers) > MOST_COLUMNS:
        raise UnreadableFile(f"{name} has {len(headers)} columns; the most that is read is {MOST_COLUMNS}.")
    width = len(headers)
    even: list[list[str]] = []
    lines: list[int] = []
    noticed: list[Finding] = []
    refused: dict[int, tuple[str, ...]] = {}
    for line, cells in rows[1:]:
        if len(cells) != width:
            while len(cells) > width and not cells[-1].strip():
                cells.pop()
            if len(cells) != width:
                noticed.append(findings.RaggedRow(row=line, values={"cells": len(cells), "columns": width}))
                refused[line] = tuple(cells)
                continue
        even.append(cells)
        lines.append(line)
    if encoding == "cp1252":
        noticed.append(findings.GuessedEncoding(values={"encoding": encoding}))
    columns = tuple(zip(*even, strict=True)) if even else ((),) * width
    return Table(
        name=name,
        sha256=hashlib.sha256(content).hexdigest(),
        encoding=encoding,
        headers=headers,
        columns=columns,
        lines=tuple(lines),
        findings=tuple(noticed),
        refused=refused,
    )


def decode(content: bytes, name: str) -> tuple[str, str]:
    """Return the text of a file and the encoding it was read in.

    Raises
    ------
    UnreadableFile
        The bytes are no text.
    """
    marked = next((encoding for mark, encoding in _MARKS if content.startswith(mark)), None)
    for encoding in [marked] if marked else ["utf-8", "cp1252"]:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" in text:
            break
        return text, encoding
    raise UnreadableFile(f"{name} is no text in UTF-8, UTF-16 or Windows-1252. Save it as CSV in UTF-8.")


def delimiter_of(text: str) -> str:
    """Return the mark that parts the columns: the one that cuts the first lines into most, and evenly."""
    lines = [line for line in text[: 1 << 16].splitlines() if line.strip()][:20]

    def cut(mark: str) -> tuple[int, int]:
        widths = Counter(len(row) for row in csv.reader(lines, delimiter=mark) if len(row) > 1)
        width, rows = widths.most_common(1)[0] if widths else (1, 0)
        return rows, width

    return max(DELIMITERS, key=cut)


def _split(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    csv.field_size_limit(LARGEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter_of(text), strict=True)
    line = 1
    try:
        for cells in reader:
            if any(cells) and not all(cell.isspace() for cell in cells if cell):
                yield line, cells
            line = reader.line_num + 1
    except csv.Error as error:
        raise UnreadableFile(f"{name}, line {line}: {error}. Look for a quotation mark that is not closed.") from None
