"""Robust fits: the library's, our own for many groups, and least trimmed squares."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.datasets import stackloss

from evener.scoring.ratings.least_squares import least_squares
from evener.scoring.ratings.robust import huber, huber_grouped, least_trimmed


def spoiled(seed, n=60, share=0.1):
    """Return a line with a share of its values four times too high."""
    rng = np.random.default_rng(seed)
    x = rng.uniform(1, 6, n)
    y = 3 + 10 * x + rng.normal(0, 2, n)
    y[: int(share * n)] *= 4
    return np.column_stack([np.ones(n), x]), y


def loss(design, response, coefficients, scale):
    """Huber's objective with its scale, as the references print it."""
    z = (response - design @ coefficients) / scale
    beyond = np.abs(z) > 1.35
    return np.sum(scale + scale * np.where(beyond, 2 * 1.35 * np.abs(z) - 1.35**2, z**2))


def test_both_solvers_give_the_same_lines():
    """Our grouped solver and scikit-learn's HuberRegressor agree group by group, to the latter's stopping tolerance."""
    problems = [spoiled(seed, n=20 + 5 * seed) for seed in range(8)]
    design, response = (np.concatenate([one[part] for one in problems]) for part in (0, 1))
    group = np.repeat(np.arange(8), [one[1].size for one in problems])
    ours = huber_grouped(design, response, group)
    for k, problem in enumerate(problems):
        assert ours.coefficients[k] == pytest.approx(huber(*problem), rel=1e-4, abs=1e-4)


def test_the_grouped_solver_reaches_the_minimum():
    """Huber's objective cannot be lowered by a step in any coefficient or in the scale."""
    design, response = spoiled(3)
    fit = huber_grouped(design, response, np.zeros(response.size, dtype=np.intp))
    coefficients, scale = fit.coefficients[0], float(fit.scale[0])
    least = loss(design, response, coefficients, scale)
    for step in (1e-3, -1e-3):
        assert loss(design, response, coefficients, scale * (1 + step)) > least
        for j in range(2):
            moved = coefficients.copy()
            moved[j] += step
            assert loss(design, response, moved, scale) > least


def test_groups_do_not_touch_each_other():
    """A group's line is the same alone, among others, and in any order of the records."""
    one, other = spoiled(1), spoiled(2, n=200, share=0.3)
    alone = huber_grouped(*one, np.zeros(60, dtype=np.intp)).coefficients[0]
    design, response = np.concatenate([other[0], one[0]]), np.concatenate([other[1], one[1]])
    group = np.concatenate([np.ones(200, dtype=np.intp), np.zeros(60, dtype=np.intp)])
    shuffle = np.random.default_rng(0).permutation(260)
    together = huber_grouped(design[shuffle], response[shuffle], group[shuffle])
    assert together.coefficients[0] == pytest.approx(alone, rel=1e-6)


def test_a_tenth_of_wrong_values_hardly_moves_the_robust_line():
    """With a tenth of the values four times too high Huber's slope stays near 10; the ordinary one does not."""
    design, response = spoiled(5)
    assert huber(design, response)[1] == pytest.approx(10, abs=1.0)
    assert abs(least_squares(design, response).coefficients[1] - 10) > 1.5


def test_records_on_one_line_give_that_line():
    """Data without scatter stop the solvers at once, at the line."""
    x = np.linspace(1, 5, 12)
    design, response = np.column_stack([np.ones(12), x]), 2 + 3 * x
    assert huber(design, response) == pytest.approx([2, 3], rel=1e-8)
    grouped = huber_grouped(design, response, np.zeros(12, dtype=np.intp))
    assert grouped.coefficients[0] == pytest.approx([2, 3], rel=1e-8)


def test_a_group_too_small_is_refused():
    """A group with no more records than coefficients raises and is named."""
    with pytest.raises(ValueError, match="group 1 has too few"):
        huber_grouped(np.ones((5, 2)), np.ones(5), np.array([0, 0, 0, 1, 1]))


def test_least_trimmed_squares_holds_where_hubers_fit_does_not():
    """With a fifth of the widths in the wrong unit the trimmed line stays; Huber's is pulled away."""
    rng = np.random.default_rng(2)
    x = rng.uniform(0.2, 2.1, 100)
    y = 2.5 + 1.1 * x + rng.normal(0, 0.1, 100)
    x[:20] += np.log(3.28)
    design = np.column_stack([np.ones(100), x])
    assert least_trimmed(design, y)[1] == pytest.approx(1.1, abs=0.15)
    assert huber(design, y)[1] < 0.9


def test_least_trimmed_squares_on_stack_loss():
    """On the stack loss data the trimmed line leaves out runs 1, 3, 4 and 21 by far, as the literature has it.

    P. J. Rousseeuw and A. M. Leroy, Robust Regression and Outlier Detection (1987), chapter 3, table 2 (from memory).
    """
    data = stackloss.load_pandas().data
    design = np.column_stack([np.ones(21), data[["AIRFLOW", "WATERTEMP", "ACIDCONC"]].to_numpy(float)])
    response = data["STACKLOSS"].to_numpy(float)
    residuals = np.abs(response - design @ least_trimmed(design, response))
    assert set((np.argsort(residuals)[-4:] + 1).tolist()) == {1, 3, 4, 21}
