"""Plain cells of a whole column at once: numbers of digits with at most one mark, and names that stand as they are.

What is plain reads here as it does cell by cell, numbers to the last bit; property tests hold the two together.
Everything else is left to the grammar of one cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from evener.ingest.text.cells import DecimalMark
from evener.ingest.text.refusals import MISSING
from evener.ingest.text.texts import Packed

MOST_DIGITS: Final = 15  # so many digits are exact in a double, and so is the power of ten they are divided by
_WIDEST: Final = MOST_DIGITS + 1
_NOUGHT, _POINT, _COMMA = (ord(sign) for sign in "0.,")
_LETTERS = tuple((ord(low), ord(high)) for low, high in ("az", "AZ", "09"))
_LONGEST_MISSING = max(map(len, MISSING))
_MISSING_STARTS = sorted({ord(sign) for word in MISSING for sign in (word[:1], word[:1].upper()) if sign})
_POWERS = 10.0 ** np.arange(MOST_DIGITS + 1)


@dataclass(frozen=True)
class PlainNumbers:
    """What each text of a column is as a plain number.

    Attributes
    ----------
    whole : texts of digits alone
    pointed, comma : texts of digits with a point, or a comma, among them
    grouped : of these, the ones in which the mark could part thousands
    values : the number, the mark taken as the decimal mark; of no meaning where the text is not plain
    """

    whole: NDArray[np.bool_]
    pointed: NDArray[np.bool_]
    comma: NDArray[np.bool_]
    grouped: NDArray[np.bool_]
    values: NDArray[np.float64]

    def readable(self, decimal: DecimalMark) -> NDArray[np.bool_]:
        """Return which texts read one way, as plain numbers, under a decimal mark; "" when it is not known."""
        if not decimal:
            return self.whole | ((self.pointed | self.comma) & ~self.grouped)
        return self.whole | (self.pointed if decimal == "." else self.comma)

    def marks(self) -> set[DecimalMark]:
        """Return the decimal marks that some of the texts cannot be read without."""
        marks: set[DecimalMark] = set()
        if (self.pointed & ~self.grouped).any():
            marks.add(".")
        if (self.comma & ~self.grouped).any():
            marks.add(",")
        return marks


def plain_numbers(packed: Packed) -> PlainNumbers:
    """Return what texts are as plain numbers.

    Parameters
    ----------
    packed : texts as bytes of one width
    """
    width = packed.dtype.itemsize
    signs = packed.view(np.uint8).reshape(len(packed), width)
    short = ~signs[:, _WIDEST:].any(axis=1)
    signs = signs[:, :_WIDEST]
    digits: NDArray[Any] = signs - _NOUGHT
    is_digit = digits < 10
    is_mark = (signs == _POINT) | (signs == _COMMA)
    length = (signs != 0).sum(axis=1)
    figures, marks = is_digit.sum(axis=1), is_mark.sum(axis=1)
    mantissa = np.zeros(len(packed), np.int64)
    for place in range(signs.shape[1]):
        column = is_digit[:, place]
        mantissa = np.where(column, mantissa * 10 + digits[:, place], mantissa)
    plain = short & (figures + marks == length) & (figures >= 1) & (figures <= MOST_DIGITS)
    before = np.where(marks == 1, is_mark.argmax(axis=1), length)
    after = length - before - 1
    parted = plain & (marks == 1) & (before >= 1) & (after >= 1)
    first = digits[:, 0] if signs.shape[1] else digits
    return PlainNumbers(
        whole=plain & (marks == 0),
        pointed=parted & (signs == _POINT).any(axis=1),
        comma=parted & (signs == _COMMA).any(axis=1),
        grouped=parted & (after == 3) & (before <= 3) & (first != 0),
        values=mantissa / _POWERS[np.clip(np.where(parted, after, 0), 0, MOST_DIGITS)],
    )


def plain_names(packed: Packed) -> NDArray[np.bool_]:
    """Return which texts are surely names as they stand: no space around them, no sign before, no word for "no value".

    Parameters
    ----------
    packed : texts as bytes of one width
    """
    signs = packed.view(np.uint8).reshape(len(packed), packed.dtype.itemsize)
    length = (signs != 0).sum(axis=1)
    first, last = signs[:, 0], signs[np.arange(len(packed)), np.maximum(length - 1, 0)]
    lettered: NDArray[np.bool_] = np.logical_or.reduce([(low <= first) & (first <= high) for low, high in _LETTERS])
    may_say_nothing = (length <= _LONGEST_MISSING) & np.isin(first, _MISSING_STARTS)
    plain: NDArray[np.bool_] = lettered & (last > ord(" ")) & (signs < 128).all(axis=1) & ~may_say_nothing
    return plain
