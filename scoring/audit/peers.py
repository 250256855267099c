"""Every record against the line through the others: build, duty and group known, itself left out.

What leaving a record out does to its own prediction follows from its pull on the line; no line is fitted twice. A
record that the fit has set aside had no pull, and is measured as it stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.lines.least_squares import t_two_sided
from evener.scoring.ratings.spreads import Measured

Array = NDArray[np.float64]

# A record that alone determines a coefficient has no peers there.
ALONE = 1e-9


@dataclass(frozen=True)
class Peers:
    """Records of one family measured against each other, in the order of their columns; NaN where not measured.

    Attributes
    ----------
    offset : what build, duty and group add to the level of each record's size [ln of the unit]
    expected : ln of what the others lead one to expect of each record [ln of the unit]
    error : standard error of one machine about it [ln of the unit]
    t : deviation from it in standard errors [1]
    freedom : degrees of freedom of t [1]
    p : probability of a deviation as large by chance alone [1]
    kept : which records the line rests on
    pull : of each record on its own fitted value [1]
    moved : the line at each record's size, less what it would be without the record [ln of the unit]
    line_shift : how far each record moves the coefficients of the line, in their own scatter [1]
    """

    offset: Array
    expected: Array
    error: Array
    t: Array
    freedom: Array
    p: Array
    kept: NDArray[np.bool_]
    pull: Array
    moved: Array
    line_shift: Array

    @property
    def n(self) -> int:
        """Records that the line rests on [1]."""
        return int(np.count_nonzero(self.kept))


def against_peers(measured: Measured, n: int) -> Peers:
    """Measure every record against the line through the others.

    Parameters
    ----------
    measured : what the fit says of the records
    n : records of the family, measured or not [1]
    """
    fit, rows = measured.fit, measured.rows
    pull = np.minimum(fit.leverage(), 1 - ALONE)
    at_one = fit.leverage(np.ones(rows.size))
    free = 1.0 - pull
    residual = fit.residual / free
    freedom = max(measured.kept.sum() - fit.step.degrees, 1.0)
    left = np.where(measured.kept, max(freedom - 1, 1.0), freedom)
    # Without itself the spread is narrower: a record must not hide behind the scatter it makes.
    ratio = measured.spread / fit.spread
    own = np.where(measured.kept, fit.residual**2 / free / ratio**2, 0.0)
    squares = np.maximum(fit.spread**2 * freedom - own, 0.0)
    spread = np.maximum(np.sqrt(squares / left), fit.pooling.grain)
    error = spread * np.sqrt(ratio**2 + at_one / free)
    alone = pull >= 1 - 10 * ALONE
    t = np.where(alone, 0.0, residual / error)
    moved, distance = fit.moves()
    known = {
        "offset": fit.of_factors(),
        "expected": fit.records.response - residual,
        "error": error,
        "t": t,
        "freedom": left,
        "p": t_two_sided(t, left),
        "pull": pull,
        "moved": moved,
        "line_shift": distance,
    }
    kept = np.zeros(n, dtype=bool)
    kept[rows] = measured.kept
    return Peers(kept=kept, **{name: _placed(values, rows, n) for name, values in known.items()})


def _placed(values: Array, rows: NDArray[np.intp], n: int) -> Array:
    placed = np.full(n, np.nan)
    placed[rows] = values
    return placed
