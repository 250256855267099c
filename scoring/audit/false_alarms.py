"""How many false alarms a list of suspects may hold."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FALSE_SHARE = 0.05


def benjamini_hochberg(p: Array) -> Array:
    """Return for each test the smallest share of false alarms at which it would still be reported [1].

    Reporting the tests at or below q keeps the expected share of false alarms among those reported at most q, for
    independent tests and for many positively dependent ones.

    Parameters
    ----------
    p : probability of a deviation as large by chance alone, per test [1]

    Notes
    -----
    Y. Benjamini and Y. Hochberg, Controlling the False Discovery Rate, J. R. Statist. Soc. B 57 (1995) 289-300.
    """
    m = p.size
    order = np.argsort(p)
    stepped = p[order] * m / np.arange(1, m + 1)
    adjusted = np.empty(m)
    adjusted[order] = np.minimum(np.minimum.accumulate(stepped[::-1])[::-1], 1.0)
    return adjusted
