"""Delimited text without quotation marks into columns, whole blocks at a time.

Without quotation marks every delimiter and every line end parts two cells, so both are found in the bytes at once, and
a cell is its bytes between two of them. This is the quick way through large plain files; it reads them as the csv
module does, and a property test holds the two together.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.ingest.files.grids import LARGEST_CELL, NoTable, check_odd, check_texts
from evener.ingest.files.stacked import Row
from evener.ingest.text.texts import LONGEST_PACKED, WORD, Coder, Texts, joined, settled_words

BLOCK = 1 << 23
_NEWLINE = 0x0A
_MOST_THREADS = 4
# A word is read whole even where its cell ends before it; its bytes beyond the cell's end are masked away.
_MASKS = np.array([(1 << (8 * count)) - 1 for count in range(WORD)] + [(1 << 64) - 1], np.uint64)


@dataclass(frozen=True)
class _Piece:
    lines: int
    even: NDArray[np.int64]
    columns: list[Texts]
    odd: list[Row]


def split(
    content: bytes, start: int, line: int, delimiter: str, width: int
) -> tuple[NDArray[np.int64], list[Texts], list[Row]]:
    """Return the rows of plain delimited text: lines, columns, and the rows with another number of cells.

    Parameters
    ----------
    content : UTF-8 text whose lines end in a newline alone, without quotation marks
    start : where in it the rows begin
    line : number of the line that begins there
    delimiter : one sign of ASCII
    width : cells of a row

    Raises
    ------
    NoTable
        A cell is longer than any value, or more lines than a list has do not fit.
    """
    # The last words of the file are read whole too, so it ends in signs of nothing.
    ending = (b"" if content.endswith(b"\n") else b"\n") + bytes(LONGEST_PACKED + WORD)
    held = b"".join([memoryview(content)[start:], ending])
    end = len(held) - LONGEST_PACKED - WORD
    bounds = list(_bounds(held, end))
    odd_so_far: list[int] = []
    with ThreadPoolExecutor(min(_MOST_THREADS, os.cpu_count() or 1)) as threads:
        pieces = list(threads.map(lambda block: _piece(held, block, ord(delimiter), width, odd_so_far), bounds))
        check_texts(sum(column.distinct_bytes for piece in pieces for column in piece.columns))
        columns = list(threads.map(lambda place: joined([piece.columns[place] for piece in pieces]), range(width)))
    lines: list[NDArray[np.int64]] = []
    odd: list[Row] = []
    for piece in pieces:
        lines.append(piece.even + line)
        odd += [(at + line, cells) for at, cells in piece.odd]
        line += piece.lines
    return np.concatenate([np.empty(0, np.int64), *lines]), columns, odd


def _bounds(held: bytes, end: int) -> Iterator[tuple[int, int]]:
    start = 0
    while start < end:
        stop = held.find(b"\n", min(start + BLOCK, end) - 1, end) + 1
        yield start, stop
        start = stop


def _piece(held: bytes, block: tuple[int, int], delimiter: int, width: int, odd_so_far: list[int]) -> _Piece:
    first, stop = block
    signs = np.frombuffer(held, np.uint8, stop - first, first)
    is_end = signs == _NEWLINE
    ends = np.flatnonzero(is_end | (signs == delimiter))
    line_ends = np.flatnonzero(is_end)
    odd: list[Row] = []
    if len(ends) == width * len(line_ends) and (ends[width - 1 :: width] == line_ends).all():
        even = np.arange(len(line_ends))
        cells = ends.reshape(-1, width)
    else:
        last = np.searchsorted(ends, line_ends)  # where in `ends` each line's own end is
        counts = np.diff(last, prepend=-1)
        even = np.flatnonzero(counts == width)
        odd_so_far.append(len(counts) - len(even))
        check_odd(sum(odd_so_far))
        for place in np.flatnonzero(counts != width).tolist():
            begin = first + (int(line_ends[place - 1]) + 1 if place else 0)
            row = held[begin : first + int(line_ends[place])].decode().split(chr(delimiter))
            _check_length(max(map(len, row)))
            odd.append((place, row))
        cells = ends[last[even][:, None] - np.arange(width - 1, -1, -1)]
    by_column = np.ascontiguousarray(cells.T.astype(np.int32))
    words = np.ndarray((stop - first,), "<u8", held, first, (1,))
    starts = (np.concatenate([[-1], line_ends])[even] + 1).astype(np.int32)
    columns = []
    for stops in by_column:
        columns.append(_column(held, first, words, starts, stops))
        starts = stops + 1
    return _Piece(len(line_ends), even, columns, odd)


def _column(
    held: bytes, first: int, words: NDArray[np.uint64], starts: NDArray[np.int32], stops: NDArray[np.int32]
) -> Texts:
    lengths = stops - starts
    longest = int(lengths.max(initial=1))
    _check_length(longest)
    if longest > LONGEST_PACKED:
        coder = Coder()
        spans = zip(starts.tolist(), stops.tolist(), strict=True)
        coder.add([held[first + start : first + stop].decode() for start, stop in spans])
        return coder.column()
    found = [words[starts] & _MASKS.take(lengths, mode="clip")]
    for place in range(1, -(-longest // WORD)):
        # A cell that ended before gets no sign of this word, wherever the word lies.
        at = starts + np.minimum(WORD * place, lengths)
        found.append(words[at] & _MASKS.take(lengths - WORD * place, mode="clip"))
    return settled_words(found)


def _check_length(length: int) -> None:
    if length > LARGEST_CELL:
        raise NoTable(f"holds a cell of {length} characters; the most that is read is {LARGEST_CELL}.")
