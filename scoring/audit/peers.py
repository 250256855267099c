"""Which records do not belong with their peers, and how many false alarms that may cost.

Every record is measured against the line through the others (the externally studentised residual). Wrong records widen
the scatter and hide each other, so records that stand out are set aside, the line is fitted again without them, and all
are measured again, until the set no longer changes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.least_squares import LeastSquares, NotDetermined, least_squares, t_two_sided
from evener.scoring.ratings.robust import least_trimmed

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Deviation = Callable[[Array, Array], Array]

FALSE_SHARE = 0.05
MAX_ROUNDS = 20
SPARE_RECORDS = 3
ROBUST_FROM = 15
FIRST_CUT = 0.01
# A normal sample's median absolute deviation, times this, is its standard deviation.
MAD_TO_SD = 1.4826


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


@dataclass(frozen=True)
class Peers:
    """The records of one family measured against each other.

    Attributes
    ----------
    fit : least squares through the records that were not set aside
    kept : which records those are
    t : deviation of each record from the line through the others, in standard errors [1]
    degrees_of_freedom : of each t [1]
    p : probability of a deviation as large by chance alone [1]
    """

    fit: LeastSquares
    kept: Mask
    t: Array
    degrees_of_freedom: Array
    p: Array


def against_peers(
    design: Array,
    response: Array,
    *,
    deviation: Deviation = np.subtract,
    grain: Array | float = 0.0,
    false_share: float = FALSE_SHARE,
) -> Peers:
    """Measure every record against the line through the others, with the records that stand out set aside.

    From ROBUST_FROM records on, the first line is the least trimmed squares one, as wrong records that agree with each
    other (a file in the wrong unit) would otherwise pull the line to themselves. Only what stands out by far is set
    aside at first: without its tails a sound family would look tighter than it is, and the rest of its records wrong.

    Parameters
    ----------
    design : one row per record, one column per coefficient [as given]
    response : observed values [as given]
    deviation : how far an observed value is from an expected one [response]
    grain : least scatter that is believed, per record [response]
    false_share : expected share of false alarms among the records set aside [1]

    Raises
    ------
    NotDetermined
        If the records do not determine the line.
    """
    n, p = design.shape
    most = n - p - SPARE_RECORDS
    steps = np.broadcast_to(np.asarray(grain, float), response.shape)
    measured = _measure(design, response, deviation, steps, np.zeros(n, dtype=bool))
    if n >= ROBUST_FROM:
        residuals = np.abs(deviation(response, design @ least_trimmed(design, response)))
        scale = MAD_TO_SD * float(np.median(residuals)) * np.sqrt(n / (n - p))
        t = residuals / np.maximum(np.hypot(scale, steps), np.finfo(float).tiny)
        aside = _standing_out(t, np.full(n, n - p), false_share * FIRST_CUT, most)
    else:
        aside = _standing_out(measured.t, measured.degrees_of_freedom, false_share, most)
    seen: set[bytes] = set()
    while aside.tobytes() not in seen and len(seen) < MAX_ROUNDS:
        seen.add(aside.tobytes())
        try:
            measured = _measure(design, response, deviation, steps, aside)
        except NotDetermined:
            break
        aside = _standing_out(measured.t, measured.degrees_of_freedom, false_share, most)
    return measured


def _measure(design: Array, response: Array, deviation: Deviation, grain: Array, aside: Mask) -> Peers:
    kept = ~aside
    fit = least_squares(design[kept], response[kept])
    freedom = np.full(response.size, float(fit.degrees_of_freedom))
    freedom[kept] -= 1
    expected, error = np.empty(response.size), np.empty(response.size)
    with np.errstate(divide="ignore", invalid="ignore"):
        expected[kept] = fit.response - fit.deleted_residuals
        error[kept] = np.abs(fit.deleted_residuals / fit.studentised)
        rows = design[aside]
        expected[aside] = fit.predict(rows)
        error[aside] = fit.standard_error_at(rows, of_one=True)
        t = deviation(response, expected) / np.hypot(error, grain)
    # A record that alone determines a coefficient has no peers there: it cannot stand out.
    t = np.nan_to_num(t, nan=0.0, posinf=np.inf, neginf=-np.inf)
    return Peers(fit, kept, t, freedom, t_two_sided(t, freedom))


def _standing_out(t: Array, freedom: Array, false_share: float, most: int) -> Mask:
    p = t_two_sided(t, freedom)
    aside = benjamini_hochberg(p) <= false_share
    if np.count_nonzero(aside) > most:
        aside = np.zeros(t.size, dtype=bool)
        aside[np.argsort(p)[: max(most, 0)]] = True
    return np.asarray(aside)
