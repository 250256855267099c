"""The first line of a fit: least trimmed squares."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.datasets import stackloss

from evener.scoring.ratings.lines.least_squares import least_squares
from evener.scoring.ratings.lines.trimmed import least_trimmed


def test_a_fifth_of_wrong_widths_does_not_pull_it():
    """With a fifth of the widths in the wrong unit the trimmed line stays; the ordinary one is pulled away."""
    rng = np.random.default_rng(2)
    x = rng.uniform(0.2, 2.1, 100)
    y = 2.5 + 1.1 * x + rng.normal(0, 0.1, 100)
    x[:20] += np.log(3.28)
    design = np.column_stack([np.ones(100), x])
    assert least_trimmed(design, y)[1] == pytest.approx(1.1, abs=0.15)
    assert least_squares(design, y).coefficients[1] < 0.9


def test_least_trimmed_squares_on_stack_loss():
    """On the stack loss data the trimmed line leaves out runs 1, 3, 4 and 21 by far, as the literature has it.

    P. J. Rousseeuw and A. M. Leroy, Robust Regression and Outlier Detection (1987), chapter 3, table 2 (from memory).
    """
    data = stackloss.load_pandas().data
    design = np.column_stack([np.ones(21), data[["AIRFLOW", "WATERTEMP", "ACIDCONC"]].to_numpy(float)])
    response = data["STACKLOSS"].to_numpy(float)
    residuals = np.abs(response - design @ least_trimmed(design, response))
    assert set((np.argsort(residuals)[-4:] + 1).tolist()) == {1, 3, 4, 21}
