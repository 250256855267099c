"""The three forms of power on size, and how one is chosen."""

from __future__ import annotations

import math

import numpy as np
import pytest

from evener.scoring.ratings.forms import FORMS, Sizes, choose, forms_for
from evener.scoring.ratings.least_squares import NotDetermined

WIDTH = np.array([1.2, 1.5, 1.8, 2.1, 2.4, 3.0, 3.7, 4.6, 6.1])
STEM = np.array([0.025, 0.05, 0.075, 0.1, 0.025, 0.05, 0.075, 0.1, 0.05])
SCATTER = np.random.default_rng(4).normal(0, 0.03, 9)

TRUTH = {
    "through_origin": lambda w: 11 * w,
    "straight": lambda w: 25 + 6 * w,
    "power": lambda w: 5 * w**2.0,
}


@pytest.mark.parametrize("name", TRUTH)
def test_the_form_the_data_were_made_in_is_chosen(name):
    """Nine machines that scatter by 3 % about a form are recognised as of that form."""
    choice = choose(TRUTH[name](WIDTH) * np.exp(SCATTER), Sizes(WIDTH))
    assert choice.form.name == name
    assert choice.errors[name] < 0.06


def test_of_forms_as_good_the_simplest_is_taken():
    """Data through the origin are not given an intercept or an exponent, though both fit them a little closer."""
    scatter = np.random.default_rng(18).normal(0, 0.03, 9)
    choice = choose(11 * WIDTH * np.exp(scatter), Sizes(WIDTH))
    assert choice.errors["power"] < choice.errors["straight"] < choice.errors["through_origin"]
    assert choice.form.name == "through_origin"


def test_a_line_that_falls_to_zero_within_the_records_is_out():
    """A straight line that gives a machine no power at all has an infinite error and is never chosen."""
    choice = choose(0.9 * WIDTH**3.2, Sizes(WIDTH))
    assert math.isinf(choice.errors["straight"])
    assert choice.form.name == "power"


def test_errors_are_those_of_fitting_without_each_record():
    """The error of a form is the mean of |ln(rating / prediction)| over nine fits with one record left out."""
    power = TRUTH["straight"](WIDTH) * np.exp(SCATTER)
    form = forms_for(power, Sizes(WIDTH))["straight"]
    misses = []
    for i in range(9):
        kept = np.arange(9) != i
        fit = form.fit(power[kept], Sizes(WIDTH[kept]))
        one = Sizes(WIDTH[[i]])
        misses.append(abs(math.log(power[i] / form.power(fit.predict(form.design(one)), one)[0])))
    assert choose(power, Sizes(WIDTH)).errors["straight"] == pytest.approx(math.expm1(np.mean(misses)), rel=1e-9)


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
@pytest.mark.parametrize("second", [None, STEM], ids=["one size", "two sizes"])
def test_response_and_power_are_each_others_inverse(form, second):
    """What is fitted turns back into the power it stands for, and a deviation back into the response."""
    sizes = Sizes(WIDTH, second)
    power = 9 * WIDTH
    response = form.response(power, sizes)
    assert form.power(response, sizes) == pytest.approx(power)
    moved = form.deviated(response, form.deviation(response * 1.2, response))
    assert moved == pytest.approx(response * 1.2)


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
@pytest.mark.parametrize("second", [None, STEM], ids=["one size", "two sizes"])
def test_the_slope_is_that_of_the_curve(form, second):
    """The slope at a size is the growth of the fitted power over a small step of the first size."""
    sizes = Sizes(WIDTH, second)
    fit = form.fit(9 * WIDTH**1.2 * (1 if second is None else second**0.5), sizes)
    step = 1e-5

    def at(first):
        moved = Sizes(first, second)
        return form.power(fit.predict(form.design(moved)), moved)

    numeric = (at(WIDTH + step) - at(WIDTH - step)) / (2 * step)
    assert form.slope(fit.coefficients, sizes) == pytest.approx(numeric, rel=1e-6)


def test_half_and_double_deviate_alike():
    """Half of what a line expects is as far off as double, and what lies below its zero is still finite."""
    form = FORMS["straight"]
    half, double = form.deviation(np.array([5.0, 20.0]), np.array([10.0, 10.0]))
    assert half == pytest.approx(-double)
    below = form.deviation(np.array([5.0]), np.array([-1.0]))
    assert below == pytest.approx([6.0])


def test_too_few_records_have_no_form():
    """One machine does not say how power grows with size."""
    with pytest.raises(NotDetermined):
        choose(np.array([20.0]), Sizes(np.array([2.0])))
