"""Least squares and its diagnostics, held against statsmodels on the project's own records and on a public data set."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.datasets import stackloss

from evener.scoring.ratings.forms import FORMS, Sizes
from evener.scoring.ratings.least_squares import NotDetermined, least_squares, t_quantile, t_two_sided

FAMILIES = ("rotary_cutter", "disc_mower", "snow_blower", "tedder")


def columns(library, family):
    """Return widths, stems and powers of the rated records of a family of the shipped library."""
    rated = [one for one in library.implements.values() if one.family == family and one.rated_pto_power_kw]
    stems = [one.max_stem_m for one in rated]
    sizes = Sizes(np.array([one.working_width_m for one in rated]), np.array(stems) if all(stems) else None)
    return sizes, np.array([one.rated_pto_power_kw for one in rated])


@pytest.fixture(params=[(family, form) for family in FAMILIES for form in FORMS], ids="-".join)
def both(request, library):
    """One family in one form, fitted here and by statsmodels."""
    family, form = request.param
    sizes, power = columns(library, family)
    ours = FORMS[form].fit(power, sizes)
    return ours, sm.OLS(ours.response, ours.design).fit()


def test_coefficients_and_their_intervals(both):
    """Coefficients, standard errors, 95 % intervals and residual standard deviation are those of statsmodels."""
    ours, theirs = both
    assert ours.coefficients == pytest.approx(theirs.params, rel=1e-9)
    assert ours.standard_errors == pytest.approx(theirs.bse, rel=1e-9)
    assert np.column_stack(ours.coefficient_interval()) == pytest.approx(theirs.conf_int(), rel=1e-8)
    assert ours.spread == pytest.approx(np.sqrt(theirs.mse_resid), rel=1e-9)


def test_confidence_and_prediction_intervals(both):
    """The interval of the line and that of one new machine are those of statsmodels, at three levels."""
    ours, theirs = both
    at = ours.design[:5] * 1.1
    for level in (0.5, 0.9, 0.95):
        table = theirs.get_prediction(at).summary_frame(alpha=1 - level)
        mean, one = ours.interval(at, of_one=False, level=level), ours.interval(at, of_one=True, level=level)
        assert mean[0] == pytest.approx(table["mean_ci_lower"].to_numpy(), rel=1e-8)
        assert mean[1] == pytest.approx(table["mean_ci_upper"].to_numpy(), rel=1e-8)
        assert one[0] == pytest.approx(table["obs_ci_lower"].to_numpy(), rel=1e-8)
        assert one[1] == pytest.approx(table["obs_ci_upper"].to_numpy(), rel=1e-8)


def test_leave_one_out_diagnostics(both):
    """Leverage, deleted and externally studentised residuals and Cook's distance are those of statsmodels."""
    ours, theirs = both
    influence = theirs.get_influence()
    assert ours.leverage == pytest.approx(influence.hat_matrix_diag, rel=1e-8)
    assert ours.deleted_residuals == pytest.approx(influence.resid_press, rel=1e-8)
    assert ours.studentised == pytest.approx(influence.resid_studentized_external, rel=1e-8)
    assert ours.cooks_distance == pytest.approx(influence.cooks_distance[0], rel=1e-8)


def test_stack_loss():
    """On the stack loss data the last run has Cook's distance 0.69 and studentised residual -3.33, as is well known.

    Data: K. A. Brownlee (1965), shipped with statsmodels; both values as in the textbooks on diagnostics (from memory).
    """
    data = stackloss.load_pandas().data
    design = np.column_stack([np.ones(21), data[["AIRFLOW", "WATERTEMP", "ACIDCONC"]].to_numpy(float)])
    fit = least_squares(design, data["STACKLOSS"].to_numpy(float))
    theirs = sm.OLS(fit.response, design).fit()
    assert fit.coefficients == pytest.approx(theirs.params, rel=1e-9)
    assert fit.studentised == pytest.approx(theirs.get_influence().resid_studentized_external, rel=1e-8)
    assert int(fit.cooks_distance.argmax()) == 20
    assert fit.cooks_distance[20] == pytest.approx(0.69, abs=0.005)
    assert fit.studentised[20] == pytest.approx(-3.33, abs=0.005)


def test_an_observation_left_out_by_hand():
    """The deleted residual is what fitting without the observation gives."""
    rng = np.random.default_rng(1)
    x = rng.uniform(1, 5, 9)
    design, response = np.column_stack([np.ones(9), x]), 2 + 3 * x + rng.normal(0, 1, 9)
    whole = least_squares(design, response)
    without = least_squares(np.delete(design, 4, axis=0), np.delete(response, 4))
    expected = response[4] - float(without.predict(design[[4]])[0])
    assert whole.deleted_residuals[4] == pytest.approx(expected, rel=1e-9)
    error = without.standard_error_at(design[[4]], of_one=True)[0]
    assert whole.studentised[4] == pytest.approx(expected / error, rel=1e-9)


def test_the_only_record_of_its_size_has_no_residual_of_its_own():
    """An observation that alone determines a coefficient has no deleted residual or influence, not infinite ones."""
    design = np.column_stack([np.ones(5), [0.0, 0.0, 0.0, 0.0, 1.0]])
    fit = least_squares(design, np.array([1.0, 1.1, 0.9, 1.0, 7.0]))
    assert np.isnan(fit.studentised[4])
    assert np.isnan(fit.cooks_distance[4])
    assert np.isfinite(fit.studentised[:4]).all()


@pytest.mark.parametrize(
    "design",
    [np.ones((2, 2)), np.ones((9, 2)), np.column_stack([np.ones(9), np.zeros(9)])],
    ids=["as many as coefficients", "one column repeats", "a column of zeros"],
)
def test_what_does_not_determine_a_line_is_refused(design):
    """Too few observations and dependent columns raise, rather than give numbers."""
    with pytest.raises(NotDetermined):
        least_squares(design, np.arange(design.shape[0], dtype=float))


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_missing_values_are_refused(bad):
    """NaN and infinity never enter a fit."""
    design = np.column_stack([np.ones(5), np.arange(5.0)])
    with pytest.raises(ValueError, match="finite"):
        least_squares(design, np.array([1.0, 2.0, bad, 4.0, 5.0]))


def test_students_t_as_tabulated():
    """Quantiles and tails agree with the usual table of Student's t (Fisher and Yates) to its printed digits."""
    table = {1: 12.706, 5: 2.571, 10: 2.228, 30: 2.042}
    for freedom, value in table.items():
        assert t_quantile(0.975, freedom) == pytest.approx(value, abs=0.0005)
        assert t_two_sided(np.array([value]), freedom)[0] == pytest.approx(0.05, abs=4e-5)
