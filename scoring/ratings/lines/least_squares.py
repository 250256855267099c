"""Ordinary least squares by QR, and what it says of each observation.

numpy alone does the fit, so that ranking never loads a statistics library; Student's t comes from scipy, only when
asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class NotDetermined(ValueError):
    """The observations do not determine the coefficients: too few, or a column that repeats another."""


@dataclass(frozen=True)
class LeastSquares:
    """A fitted linear model, response = design @ coefficients + error.

    Attributes
    ----------
    design : one row per observation, one column per coefficient [as given]
    response : observed values [as given]
    coefficients : least-squares estimates [response per column]
    unscaled_covariance : (X'X)^-1 [1 per column squared]
    residuals : response less fitted value [response]
    """

    design: Array
    response: Array
    coefficients: Array
    unscaled_covariance: Array
    residuals: Array

    @property
    def n(self) -> int:
        """Number of observations [1]."""
        return int(self.response.size)

    @property
    def degrees_of_freedom(self) -> int:
        """Observations less coefficients [1]."""
        return self.n - int(self.coefficients.size)

    @cached_property
    def residual_sum(self) -> float:
        """Sum of squared residuals [response squared]."""
        return float(self.residuals @ self.residuals)

    @property
    def spread(self) -> float:
        """Residual standard deviation [response]."""
        return float(np.sqrt(self.residual_sum / self.degrees_of_freedom))

    @property
    def standard_errors(self) -> Array:
        """Standard errors of the coefficients [response per column]."""
        return np.asarray(self.spread * np.sqrt(np.diag(self.unscaled_covariance)))

    def coefficient_interval(self, level: float = 0.95) -> tuple[Array, Array]:
        """Return the low and high ends of each coefficient's confidence interval [response per column].

        Parameters
        ----------
        level : coverage of the interval, between 0 and 1 [1]
        """
        half = t_quantile(0.5 + level / 2, self.degrees_of_freedom) * self.standard_errors
        return self.coefficients - half, self.coefficients + half

    def r_squared(self, *, about_mean: bool) -> float:
        """Share of the sum of squares that the model takes up, 0 where all responses are alike [1].

        Parameters
        ----------
        about_mean : True for a model with an intercept; without one the squares are counted about zero [1]
        """
        centred = self.response - self.response.mean() if about_mean else self.response
        squares = float(centred @ centred)
        return 1.0 - self.residual_sum / squares if squares > 0 else 0.0

    def predict(self, design: Array) -> Array:
        """Fitted values at new rows of the design [response]."""
        return np.asarray(design @ self.coefficients)

    def standard_error_at(self, design: Array, *, of_one: bool) -> Array:
        """Return the standard error of the mean, or of one new observation, at rows of the design [response]."""
        variance = np.einsum("ij,jk,ik->i", design, self.unscaled_covariance, design)
        return np.asarray(self.spread * np.sqrt(variance + 1.0 if of_one else variance))

    def interval(self, design: Array, *, of_one: bool, level: float = 0.95) -> tuple[Array, Array]:
        """Confidence interval of the mean, or prediction interval of one new observation [response].

        Parameters
        ----------
        design : rows at which the interval is wanted [as given]
        of_one : True for the prediction interval, False for the confidence interval [1]
        level : coverage of the interval, between 0 and 1 [1]
        """
        half = t_quantile(0.5 + level / 2, self.degrees_of_freedom) * self.standard_error_at(design, of_one=of_one)
        middle = self.predict(design)
        return middle - half, middle + half


def least_squares(design: Array, response: Array) -> LeastSquares:
    """Fit a linear model by Householder QR of the scaled design, with one step of refinement.

    Each column is scaled by a power of two near its length, which loses no digit and keeps a column of 1e12 from
    drowning one of 1.

    Parameters
    ----------
    design : one row per observation, one column per coefficient [as given]
    response : observed values [as given]

    Raises
    ------
    NotDetermined
        If there are not more observations than coefficients, or the columns are not independent.
    ValueError
        If a value is not finite.
    """
    design = np.asarray(design, dtype=np.float64)
    response = np.asarray(response, dtype=np.float64)
    n, p = design.shape
    if not (np.isfinite(design).all() and np.isfinite(response).all()):
        raise ValueError("a regression needs finite numbers: leave records with missing values out")
    if n <= p:
        raise NotDetermined(f"{n} observations do not determine {p} coefficients and a spread")
    length = np.sqrt(np.einsum("ij,ij->j", design, design))
    if not (length > 0).all():
        raise NotDetermined("a column of the design is all zero")
    scale = np.exp2(np.round(np.log2(length)))
    q, r = np.linalg.qr(design / scale)
    diagonal = np.abs(np.diag(r))
    if diagonal.min() <= n * np.finfo(np.float64).eps * diagonal.max():
        raise NotDetermined("the columns of the design are not independent")
    inverse = np.linalg.solve(r, np.eye(p))
    coefficients = inverse @ (q.T @ response) / scale
    coefficients = coefficients + inverse @ (q.T @ (response - design @ coefficients)) / scale
    covariance = inverse @ inverse.T / np.outer(scale, scale)
    return LeastSquares(
        design=design,
        response=response,
        coefficients=coefficients,
        unscaled_covariance=covariance,
        residuals=response - design @ coefficients,
    )


def t_quantile(p: float, degrees_of_freedom: float) -> float:
    """Return the value that Student's t does not exceed with probability p [1].

    Parameters
    ----------
    p : probability, between 0 and 1 [1]
    degrees_of_freedom : above 0 [1]
    """
    from scipy.special import stdtrit

    return float(stdtrit(degrees_of_freedom, p))


def t_two_sided(t: Array, degrees_of_freedom: float | Array) -> Array:
    """Return the probability that Student's t is as far from zero as t, either way [1]."""
    from scipy.special import stdtr

    return np.asarray(2.0 * stdtr(degrees_of_freedom, -np.abs(t)))
