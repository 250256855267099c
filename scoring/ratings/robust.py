"""Regression that a few wrong records cannot pull away: Huber's M-estimate, by the library and for many groups at once.

The objective is Huber's with the scale as a further unknown: with z = r / s, the sum over the records of
s + s H(z), H(z) = z^2 up to EPSILON and 2 EPSILON |z| - EPSILON^2 beyond (P. J. Huber and E. M. Ronchetti, Robust
Statistics, 2nd ed. (2009), section 7.7). scikit-learn minimises it by a general optimiser, one data set a call;
`huber_grouped` solves the same equations by reweighting, all groups in each pass over the records.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Labels = NDArray[np.intp]

EPSILON = 1.35
TOLERANCE = 1e-8
MAX_PASSES = 200
LEAST_SCALE = 1e-12

SUBSETS = 100
STEPS = 4
SAMPLE = 1000
RIDGE = 1e-12


@dataclass(frozen=True)
class Huber:
    """Robust coefficients, one row per group.

    Attributes
    ----------
    coefficients : groups by columns [response per column]
    scale : Huber's scale of each group, not a standard deviation [response]
    passes : how many passes over the records it took [1]
    """

    coefficients: Array
    scale: Array
    passes: int


def huber(design: Array, response: Array) -> Array:
    """Fit one data set by scikit-learn's HuberRegressor, and return the coefficients [response per column].

    Columns and response are brought to size 1 first, as its optimiser stops on an absolute gradient. Where it does not
    settle (records of which most lie on one line exactly), the same equations are solved by reweighting.

    Parameters
    ----------
    design : one row per record, one column per coefficient, the intercept's included [as given]
    response : observed values [as given]
    """
    from sklearn.exceptions import ConvergenceWarning
    from sklearn.linear_model import HuberRegressor

    column = np.sqrt(np.mean(design**2, axis=0))
    start, *_ = np.linalg.lstsq(design / column, response, rcond=None)
    left = response - design / column @ start
    size = float(np.sqrt(np.mean(left**2)))
    if size <= LEAST_SCALE * float(np.abs(response).max()):
        return np.asarray(start / column)
    regressor = HuberRegressor(epsilon=EPSILON, alpha=0.0, fit_intercept=False, max_iter=1000, tol=1e-7)
    with warnings.catch_warnings():
        warnings.simplefilter("error", ConvergenceWarning)
        try:
            regressor.fit(design / column, left / size)
        except (ConvergenceWarning, ValueError):
            return np.asarray(huber_grouped(design, response, np.zeros(response.size, dtype=np.intp)).coefficients[0])
    return np.asarray((start + regressor.coef_ * size) / column)


def huber_grouped(design: Array, response: Array, group: Labels) -> Huber:
    """Fit every group of records by iteratively reweighted least squares, all groups in one pass.

    Each pass updates the coefficients with weights min(1, EPSILON s / |r|) and then the scale from its own equation,
    s^2 = sum of r^2 within EPSILON s, over (n - EPSILON^2 times the number beyond). Groups that have settled drop out.

    Parameters
    ----------
    design : one row per record, one column per coefficient, the intercept's included [as given]
    response : observed values [as given]
    group : number of each record's group, 0, 1, 2 ...; every number up to the highest has records [1]

    Raises
    ------
    ValueError
        If a group has no more records than coefficients.
    """
    order = np.argsort(group, kind="stable")
    counts = np.bincount(group)
    if counts.min() <= design.shape[1]:
        raise ValueError(f"group {int(counts.argmin())} has too few records for {design.shape[1]} coefficients")
    column = np.sqrt(np.mean(design**2, axis=0))
    columns = [np.ascontiguousarray(values) for values in (design[order] / column).T]
    values = response[order]
    coefficients = np.zeros((counts.size, len(columns)))
    scale = np.zeros(counts.size)
    active = np.arange(counts.size)
    weights = np.ones(values.size)
    passes = 0
    while active.size and passes < MAX_PASSES:
        passes += 1
        n = counts[active]
        starts = np.concatenate([[0], np.cumsum(n)[:-1]])
        update = _weighted(columns, values, weights, starts)
        residuals = np.abs(values - sum(np.repeat(update[:, j], n) * x for j, x in enumerate(columns)))
        last = scale[active] if passes > 1 else np.sqrt(np.add.reduceat(residuals**2, starts) / n)
        limit = np.repeat(EPSILON * last, n)
        within = residuals <= limit
        beyond = n - np.add.reduceat(within, starts, dtype=np.intp)
        inside = np.add.reduceat(np.where(within, residuals**2, 0.0), starts)
        new = np.sqrt(inside / np.maximum(n - EPSILON**2 * beyond, 1.0))
        settled = (
            (passes > 1)
            & (np.abs(update - coefficients[active]).max(axis=1) <= TOLERANCE * np.maximum(new, LEAST_SCALE))
            & (np.abs(new - last) <= TOLERANCE * np.maximum(new, LEAST_SCALE))
        ) | (new <= LEAST_SCALE * np.maximum.reduceat(np.abs(values), starts))
        coefficients[active], scale[active] = update, new
        limit = np.repeat(EPSILON * new, n)
        weights = np.divide(limit, residuals, out=np.ones_like(residuals), where=residuals > limit)
        if settled.any():
            stay = np.repeat(~settled, n)
            columns, values, weights = [x[stay] for x in columns], values[stay], weights[stay]
            active = active[~settled]
    return Huber(coefficients / column, scale, passes)


def _weighted(columns: list[Array], values: Array, weights: Array, starts: Labels) -> Array:
    """Solve the weighted normal equations of every group."""
    p = len(columns)
    left = np.empty((starts.size, p, p))
    right = np.empty((starts.size, p, 1))
    for i, x in enumerate(columns):
        weighted = x * weights
        right[:, i, 0] = np.add.reduceat(weighted * values, starts)
        for j in range(i, p):
            left[:, i, j] = left[:, j, i] = np.add.reduceat(weighted * columns[j], starts)
    return np.asarray(np.linalg.solve(left, right)[:, :, 0])


def least_trimmed(design: Array, response: Array, *, seed: int = 0) -> Array:
    """Fit the half of the records that lie closest to one line, and return its coefficients [response per column].

    Unlike Huber's fit it holds when a fifth or more of the records are wrong in their size (a file in the wrong unit).
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
    column = np.sqrt(np.mean(design**2, axis=0))
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


def _solve_subsets(x: Array, products: Array, response: Array, subsets: Labels) -> Array:
    """Solve least squares on many subsets of the same records; one that does not determine a line gets the flattest."""
    n, p = x.shape
    chosen = np.zeros((subsets.shape[0], n))
    np.put_along_axis(chosen, subsets, 1.0, axis=1)
    cross = (chosen @ products).reshape(-1, p, p)
    cross += RIDGE * np.trace(cross, axis1=1, axis2=2)[:, None, None] * np.eye(p)
    return np.asarray(np.linalg.solve(cross, (chosen @ (x * response[:, None]))[:, :, None])[:, :, 0])
