"""What is known of a figure of several tractors: values draw by draw, and where they come from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask


@dataclass(frozen=True, eq=False)
class Known:
    """One figure of a block of tractors.

    Attributes
    ----------
    values : shape (tractors, draws), or (tractors, 1) where it is the same in every draw; NaN where it is not known
    assumed : which are not from the tractor's own record; shape (tractors,)
    middle : what the values are drawn around, where that is a figure of a record; shape (tractors,)
    stands_in : what they are from, where that is not the class
    notes : what a reader should know of it, where the block is of one tractor
    """

    values: Array
    assumed: Mask
    middle: Array | None = None
    stands_in: str = ""
    notes: tuple[str, ...] = ()

    @property
    def known(self) -> Mask:
        """Which are known at all; shape (tractors,)."""
        # A figure is known in every draw or in none.
        return ~np.isnan(self.values[:, 0])

    def part(self, rows: Mask) -> Known:
        """Return it for some of the tractors."""
        middle = None if self.middle is None else self.middle[rows]
        return Known(self.values[rows], self.assumed[rows], middle, self.stands_in, self.notes)


def unknown(tractors: int, *notes: str) -> Known:
    """Return a figure of which nothing is known."""
    return Known(np.full((tractors, 1), np.nan), np.zeros(tractors, bool), notes=notes)
