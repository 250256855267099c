"""Ordinary least squares, held against statsmodels on the project's own records."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm

from evener.scoring.ratings.lines.least_squares import NotDetermined, least_squares, t_quantile, t_two_sided

FAMILIES = ("rotary_cutter", "disc_mower", "snow_blower", "tedder")


@pytest.fixture(params=[(family, form) for family in FAMILIES for form in ("straight", "power")], ids="-".join)
def both(request, library):
    """One family on a straight line or a power law, fitted here and by statsmodels."""
    family, form = request.param
    rated = [one for one in library.implements.values() if one.family == family and one.rated_pto_power_kw]
    sizes = [[one.working_width_m for one in rated], [one.max_stem_m for one in rated]]
    stated = np.array([size for size in sizes if all(size)]).T
    power = np.array([one.rated_pto_power_kw for one in rated])
    if form == "power":
        stated, power = np.log(stated), np.log(power)
    ours = least_squares(np.column_stack([np.ones(power.size), stated]), power)
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
