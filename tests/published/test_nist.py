"""NIST Statistical Reference Datasets, Linear Least Squares Regression: certified fits the regression must reproduce.

Certified values carry 15 digits. Double precision keeps at least 9 of them on the straight lines, which is what a
rating needs. On Pontius, a quadratic in x up to 3 million whose columns differ in length by a factor of 1e13, QR of
scaled columns keeps as many; a pseudo-inverse of the raw columns is left with about 6 on the intercept.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from evener.scoring.ratings.lines import least_squares as ratings_ols
from evener.scoring.ratings.lines.weighted import solve, weigh

STRD = json.loads((Path(__file__).parent / "data" / "nist_strd.json").read_text(encoding="utf-8"))["sets"]
RELATIVE = 1e-9


def fitted(name):
    """Fit a set by the columns its file names, and return the fit with the certified values."""
    one = STRD[name]
    x = np.array(one["x"], float)
    column = {"1": np.ones_like(x), "x": x, "x^2": x * x}
    design = np.column_stack([column[title] for title in one["columns"]])
    return ratings_ols.least_squares(design, np.array(one["y"], float)), one["certified"]


@pytest.mark.parametrize("name", STRD)
def test_estimates_and_their_standard_deviations_are_the_certified_ones(name):
    """Coefficients, their standard deviations and the residual standard deviation agree to 1e-9 of their size."""
    fit, certified = fitted(name)
    assert fit.coefficients == pytest.approx(np.array(certified["estimates"]), rel=RELATIVE, abs=0)
    assert fit.standard_errors == pytest.approx(np.array(certified["standard_deviations"]), rel=RELATIVE, abs=0)
    assert fit.spread == pytest.approx(certified["residual_standard_deviation"], rel=RELATIVE, abs=0)


@pytest.mark.parametrize("name", STRD)
def test_the_weighted_step_of_every_rating_model_reaches_them_too(name):
    """With unit weights and no penalty, two steps give the certified coefficients and deviations to 1e-9."""
    ordinary, certified = fitted(name)
    coefficients = np.zeros(ordinary.coefficients.size)
    for _ in range(2):
        residual = ordinary.response - ordinary.design @ coefficients
        step = solve(weigh(ordinary.design, residual, np.ones(residual.size)))
        coefficients = coefficients + step.change
    residual = ordinary.response - ordinary.design @ coefficients
    spread = np.sqrt(residual @ residual / (residual.size - step.degrees))
    assert coefficients == pytest.approx(np.array(certified["estimates"]), rel=RELATIVE, abs=0)
    assert spread == pytest.approx(certified["residual_standard_deviation"], rel=RELATIVE, abs=0)
    errors = spread * np.sqrt(np.diag(step.inverse))
    assert errors == pytest.approx(np.array(certified["standard_deviations"]), rel=RELATIVE, abs=0)


@pytest.mark.parametrize("name", ["Norris", "Pontius", "NoInt1"])
def test_the_analysis_of_variance_is_the_certified_one(name):
    """R squared (about zero without an intercept), residual sum of squares and F agree to 1e-9 of their size."""
    fit, certified = fitted(name)
    through_origin = name.startswith("NoInt")
    total = fit.response @ fit.response - (0 if through_origin else fit.n * fit.response.mean() ** 2)
    model_columns = fit.coefficients.size - (0 if through_origin else 1)
    f_statistic = (total - fit.residual_sum) / model_columns / fit.spread**2
    assert fit.r_squared(about_mean=not through_origin) == pytest.approx(certified["r_squared"], rel=RELATIVE)
    assert fit.residual_sum == pytest.approx(certified["residual_sum_of_squares"], rel=RELATIVE)
    assert f_statistic == pytest.approx(certified["f_statistic"], rel=RELATIVE)
