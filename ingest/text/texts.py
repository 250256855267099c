"""A column of text that holds each distinct text once, so that whatever is asked of it is asked once.

Short texts are kept packed, eight bytes to a word: a million cells are then told apart, compared and read as numbers
without a Python object for each.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

WORD = 8
_BYTES_OF_A_TEXT = 200  # of a str with its place in a mapping, as measured on short ones
_TO_JOIN = 6  # times the bytes of packed texts that joining their pieces takes for a while, as measured
LONGEST_PACKED = 64
Codes = NDArray[np.int32]
Packed = NDArray[np.bytes_]

# Odd numbers with their bits well spread: they turn the words of a text into one number to tell texts apart by.
_SPREAD = np.array(
    [
        0x9E3779B97F4A7C15,
        0xC2B2AE3D27D4EB4F,
        0x165667B19E3779F9,
        0x27D4EB2F165667C5,
        0xD6E8FEB86659FD93,
        0xA0761D6478BD642F,
        0xE7037ED1A0B428DB,
        0x8EBC6AF09C88C6E3,
    ],
    np.uint64,
)


class Texts(Sequence[str]):
    """A column of text.

    Attributes
    ----------
    codes : for each row, which distinct text it holds
    """

    def __init__(self, codes: Codes, distinct: Sequence[str] | Packed) -> None:
        self.codes = codes
        self._distinct = distinct

    @classmethod
    def of(cls, texts: Iterable[str]) -> Texts:
        """Return the column of some texts."""
        coder = Coder()
        coder.add(texts)
        return coder.column()

    @cached_property
    def distinct(self) -> list[str]:
        """The distinct texts."""
        if not isinstance(self._distinct, np.ndarray):
            return list(self._distinct)
        try:
            texts: list[str] = self._distinct.astype(np.str_).tolist()
        except UnicodeDecodeError:  # letters beyond ASCII
            return [text.decode() for text in self._distinct.tolist()]
        return texts

    @property
    def signs(self) -> NDArray[np.uint8]:
        """The distinct texts byte by byte, one row for each, with noughts behind them."""
        packed = self.packed
        return packed.view(np.uint8).reshape(len(packed), packed.dtype.itemsize)

    @property
    def distinct_count(self) -> int:
        """How many distinct texts there are."""
        return len(self._distinct)

    @property
    def distinct_bytes(self) -> int:
        """How many bytes the distinct texts take at most while columns are joined, near enough."""
        held = self._distinct
        return _TO_JOIN * held.nbytes if isinstance(held, np.ndarray) else _BYTES_OF_A_TEXT * len(held)

    @cached_property
    def packed(self) -> Packed:
        """The distinct texts as bytes of one width; one that is too long to be packed is empty."""
        if isinstance(self._distinct, np.ndarray):
            return self._distinct
        encoded = [text.encode("utf-8", "surrogatepass") for text in self._distinct]
        short = [text if len(text) <= LONGEST_PACKED else b"" for text in encoded]
        return np.array(short, f"S{_wide(max(map(len, short), default=1))}")

    def __len__(self) -> int:
        return len(self.codes)

    @overload
    def __getitem__(self, row: int) -> str: ...
    @overload
    def __getitem__(self, row: slice) -> Texts: ...
    def __getitem__(self, row: int | slice) -> str | Texts:
        if isinstance(row, slice):
            return Texts(self.codes[row], self._distinct)
        held = self._distinct[self.codes[row]]
        return held.decode() if isinstance(held, bytes) else held

    def __iter__(self) -> Iterator[str]:
        return map(self.distinct.__getitem__, self.codes.tolist())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and list(self) == list(other)

    __hash__ = None  # type: ignore[assignment]

    def take(self, rows: NDArray[Any]) -> Texts:
        """Return the column of some of the rows, by position or by mask."""
        return Texts(self.codes[rows], self._distinct)

    def rows_of(self, wanted: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return which rows hold one of the distinct texts wanted."""
        held: NDArray[np.bool_] = wanted[self.codes]
        return held


class Coder:
    """Gathers a column of text piece by piece, and keeps of each piece only what is new in it."""

    def __init__(self) -> None:
        self._places: dict[str, int] = {}
        self._pieces: list[Codes] = []

    @property
    def distinct_bytes(self) -> int:
        """How many bytes the distinct texts take so far, near enough."""
        return _BYTES_OF_A_TEXT * len(self._places)

    def add(self, texts: Iterable[str]) -> None:
        """Take the texts of the next rows."""
        places = self._places
        held = list(texts)
        for text in dict.fromkeys(held):
            places.setdefault(text, len(places))
        self._pieces.append(np.fromiter(map(places.__getitem__, held), np.int32, len(held)))

    def column(self) -> Texts:
        """Return all that was gathered."""
        codes = np.concatenate(self._pieces) if self._pieces else np.empty(0, np.int32)
        return Texts(codes, list(self._places))


def joined(pieces: Sequence[Texts]) -> Texts:
    """Return one column of the pieces in their order."""
    if len(pieces) == 1:
        return pieces[0]
    if not pieces:
        return Texts(np.empty(0, np.int32), [])
    kept = [piece._distinct for piece in pieces]  # noqa: SLF001
    arrays = [held for held in kept if isinstance(held, np.ndarray)]
    if len(arrays) < len(kept):
        coder = Coder()
        for piece in pieces:
            coder.add(piece)
        return coder.column()
    width = max(held.dtype.itemsize for held in arrays)
    together = settled(np.concatenate([held.astype(f"S{width}") for held in arrays]))
    ends = np.cumsum([len(held) for held in arrays])
    codes = [
        together.codes[end - len(held) : end][piece.codes]
        for piece, held, end in zip(pieces, arrays, ends, strict=True)
    ]
    return Texts(np.concatenate(codes), together.packed)


def settled(packed: Packed) -> Texts:
    """Return the column of packed texts, one per row, with each distinct one once."""
    words = packed.view(np.uint64).reshape(len(packed), packed.dtype.itemsize // WORD).T
    return settled_words(list(words))


def settled_words(words: Sequence[NDArray[np.uint64]]) -> Texts:
    """Return the column of texts given as their words of eight bytes, one array per word.

    The words of a longer text are mixed into one number. Two texts that mix alike would be taken for one, so every row
    is compared with the text it is given; a clash, which nobody has met, falls back to comparing the texts themselves.
    """
    from pandas import factorize

    if len(words) == 1:
        codes, distinct = factorize(words[0])
        return Texts(codes.astype(np.int32), _packed([distinct]))
    mixed = words[0]
    for word, spread in zip(words[1:], _SPREAD[1:], strict=False):
        mixed = mixed * _SPREAD[0] ^ (word * spread)
    codes, _ = factorize(mixed)
    codes = codes.astype(np.int32)
    firsts = np.empty(int(codes.max(initial=-1)) + 1, np.intp)
    firsts[codes[::-1]] = np.arange(len(codes))[::-1]
    if any((word[firsts][codes] != word).any() for word in words[1:]):
        packed = _packed(words)
        distinct, codes = np.unique(packed, return_inverse=True)
        return Texts(codes.astype(np.int32), distinct)
    return Texts(codes, _packed([word[firsts] for word in words]))


def _packed(words: Sequence[NDArray[np.uint64]]) -> Packed:
    return np.ascontiguousarray(np.stack(words, axis=1)).view(f"S{WORD * len(words)}").reshape(-1)


def _wide(length: int) -> int:
    return max(WORD, -(-length // WORD) * WORD)
