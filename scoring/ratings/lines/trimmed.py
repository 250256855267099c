"""A first line that wrong records do not pull, however many agree with each other, up to half of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Places = NDArray[np.intp]

SUBSETS = 100
STEPS = 4
SAMPLE = 1000
RIDGE = 1e-12


def least_trimmed(design: Array, response: Array, *, seed: int = 0) -> Array:
    """Fit the half of the records that lie closest to one line, and return its coefficients [response per column].

    It holds when a fifth or more of the records are wrong in their size (a file in the wrong unit).
    Least trimmed squares by concentration steps from many small random subsets, on at most SAMPLE records.

    Parameters
    ----------
    design : one row per record, one column per coefficient [as given]
    response : observed values [as given]
    seed : of the random subsets; the same seed gives the same fit [1]

    Notes
    -----
    P. J. Rousseeuw and K. Van Driessen, Computing LTS Regression for Large Data Sets, Data Mining and Knowledge
    Discovery 12 (2006) 29-45.
    """
    rng = np.random.default_rng(seed)
    n, p = design.shape
    if n > SAMPLE:
        some = rng.choice(n, SAMPLE, replace=False)
        design, response, n = design[some], response[some], SAMPLE
    length = np.sqrt(np.mean(design**2, axis=0))
    column = np.where(length > 0, length, 1.0)
    x = design / column
    half = (n + p + 1) // 2
    products = (x[:, :, None] * x[:, None, :]).reshape(n, p * p)
    subsets = np.argsort(rng.random((SUBSETS, n)), axis=1)[:, :p]
    for _ in range(STEPS):
        b = _solve_subsets(x, products, response, subsets)
        subsets = np.argpartition(np.abs(response - b @ x.T), half - 1, axis=1)[:, :half]
    b = _solve_subsets(x, products, response, subsets)
    squares = np.sort((response - b @ x.T) ** 2, axis=1)[:, :half].sum(axis=1)
    return np.asarray(b[int(np.argmin(squares))] / column)


def _solve_subsets(x: Array, products: Array, response: Array, subsets: Places) -> Array:
    """Solve least squares on many subsets of the same records; one that does not determine a line gets the flattest."""
    n, p = x.shape
    chosen = np.zeros((subsets.shape[0], n))
    np.put_along_axis(chosen, subsets, 1.0, axis=1)
    cross = (chosen @ products).reshape(-1, p, p)
    cross += RIDGE * np.trace(cross, axis1=1, axis2=2)[:, None, None] * np.eye(p)
    return np.asarray(np.linalg.solve(cross, (chosen @ (x * response[:, None]))[:, :, None])[:, :, 0])
