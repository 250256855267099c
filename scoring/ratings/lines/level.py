"""What a line gives at some sizes, how sure that is, and the records it is drawn without."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.lines.least_squares import t_quantile

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Aside:
    """A record that the line is drawn without.

    Attributes
    ----------
    record : its name
    reason : why
    factor : its value over what the line gives at its size; NaN where that cannot be said [1]
    """

    record: str
    reason: str
    factor: float


@dataclass(frozen=True)
class Level:
    """What a line gives at some sizes.

    Attributes
    ----------
    mean_ln : ln of the middle machine, over all groups [ln of the unit]
    se : standard error of `mean_ln`; of a build or duty that is not said, the spread between them too [ln of the unit]
    spread : of single machines about it, builds or duties that are not said included [ln of the unit]
    between : spread between groups, which comes on top of `spread` for a machine of a group not known [ln of the unit]
    freedom : degrees of freedom of `spread` [1]
    inside : whether the size lies within the records' own
    unknown : a build or duty that no record has
    """

    mean_ln: Array
    se: Array
    spread: Array
    between: float
    freedom: float
    inside: NDArray[np.bool_]
    unknown: tuple[str, ...] = ()

    @property
    def middle(self) -> Array:
        """The middle machine [the quantity's unit]."""
        return np.asarray(np.exp(self.mean_ln))

    @property
    def deviation(self) -> Array:
        """Standard deviation of one machine of a group not known [ln of the unit]."""
        return np.asarray(np.sqrt(self.se**2 + self.spread**2 + self.between**2))

    def interval(self, level: float = 0.95, *, of_one: bool = True) -> tuple[Array, Array]:
        """Return the ends that hold a share of single machines, or the mean with so much confidence [the unit].

        Parameters
        ----------
        level : between 0 and 1 [1]
        of_one : single machines, rather than their mean
        """
        half = t_quantile(0.5 + level / 2, self.freedom) * (self.deviation if of_one else self.se)
        return np.asarray(np.exp(self.mean_ln - half)), np.asarray(np.exp(self.mean_ln + half))
