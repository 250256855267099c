"""A field's values over all rows of a file: numbers as an array, everything else as words that are each held once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from evener.schema.fields import Field

BLANK = -1


@dataclass(frozen=True)
class Words:
    """Texts, choices or lists over all rows.

    Attributes
    ----------
    codes : for each row, which word it has; -1 where it has none
    words : the words, each once
    """

    codes: NDArray[np.int32]
    words: Sequence[Any]

    @classmethod
    def of(cls, values: Iterable[Any]) -> Words:
        """Return the words of some rows; None is a blank."""
        held = list(values)
        return cls.coded(np.arange(len(held), dtype=np.int32), held)

    @classmethod
    def coded(cls, codes: NDArray[np.int32], values: Sequence[Any]) -> Words:
        """Return words from codes into values that may hold None, and the same word twice.

        Parameters
        ----------
        codes : for each row, which of the values it has
        values : words, or None
        """
        try:
            apart = set(values)
        except TypeError:  # lists
            apart = set()
        if len(apart) == len(values) and None not in apart:
            return cls(codes, values)
        places: dict[Any, int] = {}

        def place(value: Any) -> int:
            if value is None:
                return BLANK
            return places.setdefault(tuple(value) if isinstance(value, list) else value, len(places))

        turned = np.fromiter(map(place, values), np.int32, len(values))
        words = [list(word) if isinstance(word, tuple) else word for word in places]
        return cls(turned[codes] if len(values) else codes, words)

    @classmethod
    def all_of(cls, word: Any, count: int) -> Words:
        """Return the same word, or a blank, on every row."""
        return cls(np.full(count, BLANK if word is None else 0, np.int32), [] if word is None else [word])

    def __len__(self) -> int:
        return len(self.codes)

    def __getitem__(self, row: int) -> Any:
        code = self.codes[row]
        return None if code == BLANK else self.words[code]

    def is_word(self, word: Any) -> NDArray[np.bool_]:
        """Return which rows have a word; None asks for the blanks."""
        places = [BLANK] if word is None else [place for place, held in enumerate(self.words) if held == word]
        rows: NDArray[np.bool_] = np.isin(self.codes, places)
        return rows

    def filled(self, where: NDArray[np.bool_], word: str) -> Words:
        """Return the words with one put on some rows."""
        words = list(self.words)
        if word not in words:
            words.append(word)
        return Words(np.where(where, words.index(word), self.codes).astype(np.int32), words)

    def take(self, rows: NDArray[Any] | slice) -> Words:
        """Return the words of some rows."""
        return Words(self.codes[rows], self.words)

    def objects(self) -> NDArray[np.object_]:
        """Return an object per row, None where it is blank."""
        if len(self.codes) < len(self.words):
            few = np.empty(len(self.codes), object)
            for row in range(len(few)):
                few[row] = self[row]
            return few
        held = np.empty(len(self.words) + 1, object)
        if any(isinstance(word, list) for word in self.words[:1]):
            for place, word in enumerate(self.words):  # at once, numpy would spread them out
                held[place] = word
        elif self.words:
            held[:-1] = self.words
        return held[self.codes]


Values: TypeAlias = NDArray[np.float64] | Words


def blanks(known: Iterable[Field], count: int) -> dict[str, Values]:
    """Return the values of fields on which nothing is said; all of a kind share one array, which nobody writes to."""
    numbers, words = np.full(count, np.nan), Words.all_of(None, count)
    numbers.flags.writeable = False
    return {one.name: numbers if one.kind in ("number", "integer") else words for one in known}


def is_blank(values: Values) -> NDArray[np.bool_]:
    """Return the rows on which nothing is said."""
    return values.is_word(None) if isinstance(values, Words) else np.isnan(values)


def put(values: Values, row: int, value: Any) -> Values:
    """Return values with another on one row; None leaves it blank."""
    if not isinstance(values, Words):
        numbers = np.array(values, np.float64)
        numbers[row] = np.nan if value is None else value
        return numbers
    codes, words = np.array(values.codes, np.int32), list(values.words)
    if value is not None and value not in words:
        words.append(value)
    codes[row] = BLANK if value is None else words.index(value)
    return Words(codes, words)
