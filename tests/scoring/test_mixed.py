"""The robust mixed model against statsmodels, and what it does with wrong records and wrong groups."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.datasets import stackloss

from evener.scoring.ratings.columns import columns_of
from evener.scoring.ratings.fitting import fit_family
from evener.scoring.ratings.lines.factor import Factor
from evener.scoring.ratings.lines.growth import FORMS, Growth, choose
from evener.scoring.ratings.lines.least_squares import NotDetermined
from evener.scoring.ratings.lines.mixed import fit
from evener.scoring.ratings.lines.mixed_records import BISQUARE, Pooling, Records

TIGHT = {"tolerance": 1e-10, "passes": 3000}
PLAIN = Pooling(reach=math.inf, **TIGHT)


def grouped(seed=5, n=160, groups=8, between=0.15, scatter=0.1):
    """Return logs of size, ln P with an effect of each group, and the groups."""
    rng = np.random.default_rng(seed)
    logs = rng.normal(0, 0.5, (n, 1))
    group = rng.integers(0, groups, n)
    response = 3 + 0.9 * logs[:, 0] + rng.normal(0, between, groups)[group] + rng.normal(0, scatter, n)
    return logs, response, Factor.from_words([f"maker {k}" for k in group])


def test_the_weights_are_those_of_an_m_estimate():
    """At the same scale statsmodels' RLM with Tukey's bisquare gives the coefficients to 8 digits."""
    data = stackloss.load()
    logs = np.log(np.asarray(data.exog, float)[:, :2])
    logs = logs - logs.mean(axis=0)
    response = np.log(np.asarray(data.endog, float))
    ours = fit(Growth("power", 2), Records(logs, response, np.ones(response.size)), Pooling(**TIGHT))
    model = sm.RLM(response, sm.add_constant(logs), M=sm.robust.norms.TukeyBiweight(BISQUARE))
    theirs = model.fit(
        start_params=ours.coefficients, scale_est=lambda _, __: ours.scale, tol=1e-12, maxiter=1000, conv="coefs"
    )
    assert ours.coefficients == pytest.approx(theirs.params, rel=1e-8)
    assert ours.weights == pytest.approx(theirs.weights, abs=1e-7)


def test_with_all_weights_one_it_is_restricted_maximum_likelihood():
    """Without prior and without reach, statsmodels' MixedLM gives coefficients, errors and spreads to 5 digits."""
    logs, response, group = grouped()
    pooling = Pooling(between=(0.1,), reach=math.inf, **TIGHT)
    ours = fit(Growth("power", 1), Records(logs, response, np.ones(response.size), (), group), pooling)
    theirs = sm.MixedLM(response, sm.add_constant(logs), groups=group.codes).fit(reml=True)
    assert ours.coefficients == pytest.approx(theirs.fe_params, rel=1e-5)
    # Theirs are from a numerical Hessian in all parameters at once.
    assert np.sqrt(np.diag(ours.covariance)) == pytest.approx(theirs.bse_fe, rel=2e-3)
    assert ours.spread == pytest.approx(math.sqrt(theirs.scale), rel=1e-5)
    assert ours.between[-1] == pytest.approx(math.sqrt(float(theirs.cov_re[0, 0])), rel=1e-4)
    effects = [float(theirs.random_effects[k].iloc[0]) for k in range(len(group.names))]
    assert ours.group_effects == pytest.approx(effects, abs=1e-5)


def test_leverage_is_the_diagonal_of_the_hat_matrix():
    """The pull of a record on its own value is what moving its value by one moves the fitted one by."""
    logs, response, group = grouped(n=30, groups=4)
    pooling = Pooling(between=(0.1,), reach=math.inf, prior_levels=1e12, **TIGHT)
    records = Records(logs, response, np.ones(30), (), group)
    whole = fit(Growth("power", 1), records, pooling, spread=0.1)
    penalty = whole.group_penalty
    design = np.column_stack([np.ones(30), logs, group.indicators()])
    normal = design.T @ design + np.diag([0.0, 0.0, *penalty])
    assert whole.leverage() == pytest.approx(np.diag(design @ np.linalg.solve(normal, design.T)), abs=1e-9)
    assert whole.step.degrees == pytest.approx(whole.leverage().sum(), rel=1e-9)


def test_a_group_far_off_hardly_moves_the_mean_over_groups():
    """One maker of eight at half the ratings moves the mean by under a quarter of its share."""
    logs, response, group = grouped(between=0.05)
    pooling = Pooling(between=(0.08,), prior_levels=3, group_freedom=4, grain=0.02)
    before = fit(Growth("power", 1), Records(logs, response, np.ones(160), (), group), pooling)
    spoiled = np.where(group.codes == 0, response - math.log(2), response)
    after = fit(Growth("power", 1), Records(logs, spoiled, np.ones(160), (), group), pooling)
    assert abs(after.coefficients[0] - before.coefficients[0]) < 0.25 * math.log(2) / 8
    assert after.group_effects[0] - before.group_effects[0] < -0.55 * math.log(2)


def test_wrong_records_do_not_move_the_line_however_wrong():
    """A tenth of the records a thousand times too high move nothing by more than a tenth of a spread."""
    logs, response, _ = grouped(between=0.0)
    some = np.arange(160) % 10 == 0
    clean = fit(Growth("power", 1), Records(logs, response, np.ones(160)), Pooling(grain=0.02))
    spoiled = Records(logs, np.where(some, response + math.log(1000), response), np.ones(160))
    fitted = fit(Growth("power", 1), spoiled, Pooling(grain=0.02))
    assert (fitted.weights[some] == 0).all()
    assert np.abs(fitted.coefficients - clean.coefficients).max() < 0.1 * clean.spread


@pytest.mark.parametrize("form", FORMS)
def test_nothing_falls_with_size(form):
    """Records that fall with both sizes give a level line, in every form, not a falling one."""
    rng = np.random.default_rng(2)
    logs = rng.normal(0, 0.4, (60, 2))
    response = 3 - 0.8 * logs[:, 0] - 0.5 * logs[:, 1] + rng.normal(0, 0.05, 60)
    growth = Growth(form, 2)
    found = fit(growth, Records(logs, response, np.ones(60)), Pooling(grain=0.02))
    grid = np.column_stack([np.linspace(-2, 2, 50), np.zeros(50)])
    assert (np.diff(growth.value(grid, found.coefficients)) >= 0).all()
    assert (np.diff(growth.value(grid[:, ::-1], found.coefficients)) >= 0).all()


def form_of(x, power):
    """Return the form that a family's model takes."""
    return fit_family(columns_of("f", ("working_width_m",), [x], {"power": power})).quantities["power"].form


def test_each_form_is_found_where_it_is_true():
    """Of simulated records in proportion, on a straight line from a base, and on a steep power, each gets its form."""
    rng = np.random.default_rng(7)
    x = rng.uniform(1, 8, 300)
    for form, power in {"proportional": 10 * x, "straight": 20 + 8 * x, "power": 4 * x**1.6}.items():
        assert form_of(x, power * np.exp(rng.normal(0, 0.05, 300))) == form


def test_the_form_is_chosen_without_what_is_set_aside():
    """A quarter of the ratings, wrong on the largest machines, would bend a line in proportion; they do not."""
    rng = np.random.default_rng(3)
    x = np.sort(rng.uniform(1, 8, 60))
    power = 10 * x * np.exp(rng.normal(0, 0.04, 60))
    wrong = np.where(np.arange(60) >= 45, power * 0.6, power)
    misses = {
        form: np.abs(fit(Growth(form, 1), Records(np.log(x)[:, None], np.log(wrong), np.ones(60)), PLAIN).left_out())
        for form in FORMS
    }
    assert choose(misses, np.ones(60)).form != "proportional"
    assert form_of(x, wrong) == "proportional"


def test_leaving_a_record_out_is_foretold():
    """What the fit says of itself without a record is what a fit without it gives, for level and for the line."""
    logs, response, _ = grouped(n=25)
    whole = fit(Growth("power", 1), Records(logs, response, np.ones(25)), PLAIN)
    moved, distance = whole.moves()
    for i in (0, 7, 19):
        rest = np.arange(25) != i
        without = fit(Growth("power", 1), Records(logs[rest], response[rest], np.ones(24)), PLAIN)
        foretold = float(without.growth.value(logs[[i]], without.coefficients)[0])
        assert response[i] - foretold == pytest.approx(whole.left_out()[i], rel=1e-9)
        assert moved[i] == pytest.approx(whole.growth.value(logs[[i]], whole.coefficients)[0] - foretold, rel=1e-8)
    ours = sm.OLS(response, sm.add_constant(logs)).fit().get_influence()
    assert distance == pytest.approx(ours.cooks_distance[0], rel=1e-8)


def test_too_few_records_say_so():
    """Two records do not determine two coefficients and a spread."""
    with pytest.raises(NotDetermined):
        fit(Growth("power", 1), Records(np.array([[0.0], [1.0]]), np.array([1.0, 2.0]), np.ones(2)), Pooling())
