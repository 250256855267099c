"""The range in which a formula holds, written as the interval a reader sees and enforced as written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

import numpy as np

from evener.scoring.mechanics.quantities import Values

_INTERVAL: Final = re.compile(r"([\[(])\s*(\S+)\s*,\s*(\S+)\s*([\])])")


class OutOfRange(ValueError):
    """A number outside the range that the formula's source covers, or one that is not finite."""


class OutsideTests(UserWarning):
    """A number outside the tests behind an equation that is still the best there is."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A range of numbers with open or closed ends, in the usual notation: `[0, 1)`.

    Attributes
    ----------
    text : the notation, as printed in the method table
    low, high : the ends
    low_open, high_open : whether the end itself is outside
    """

    text: str
    low: float
    high: float
    low_open: bool
    high_open: bool

    @classmethod
    def parse(cls, text: str) -> Interval:
        """Read the notation; ValueError when it is not an interval or is empty."""
        match = _INTERVAL.fullmatch(text)
        if match is None:
            raise ValueError(f"{text!r} is not an interval such as [0, 1) or (0, inf)")
        low, high = float(match[2]), float(match[3])
        if not low < high:
            raise ValueError(f"the interval {text!r} is empty")
        return cls(text, low, high, match[1] == "(", match[4] == ")")

    @property
    def is_positive(self) -> bool:
        """Whether it is all numbers from zero up."""
        return self.low == 0 and self.high == float("inf")

    def holds(self, value: Values) -> bool:
        """Whether every number of `value` is finite and inside."""
        if isinstance(value, float | int):
            least = most = value
        else:
            least, most = float(np.min(value)), float(np.max(value))
        above = self.low < least if self.low_open else self.low <= least
        below = most < self.high if self.high_open else most <= self.high
        return bool(above and below)

    def outsider(self, value: Values) -> float:
        """Return the first number of `value` that is not inside, to show it."""
        each = np.ravel(np.asarray(value, float))
        above = each > self.low if self.low_open else each >= self.low
        below = each < self.high if self.high_open else each <= self.high
        return float(each[np.argmin(above & below)])


ANY: Final = Interval.parse("(-inf, inf)")
