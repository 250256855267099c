"""What a cell's text can be wrong in: each error says what is wrong and what to write instead."""

from __future__ import annotations


class CellError(ValueError):
    """A text the grammar does not hold.

    Attributes
    ----------
    message : what is wrong
    remedy : what to write instead
    """

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


class AmbiguousNumber(CellError):
    """A number that reads one way with a decimal point and another with a decimal comma."""


class MissingUnit(CellError):
    """A bare number where a unit is needed."""


class FootnoteMark(CellError):
    """A raised sign, a star or a dagger beside a value: what the note says may change it."""


class WrongUnit(CellError):
    """A unit that is not known, or that measures something else."""


class NegativeValue(CellError):
    """A value below nought where that has no meaning."""
