"""Validity ranges: what is outside is refused by name, and never silently extrapolated."""

from __future__ import annotations

import math

import numpy as np
import pytest

from evener.scoring.mechanics import methods
from evener.scoring.mechanics.stance import balance
from evener.scoring.mechanics.tyres import grade, traction, tractor_pull
from evener.scoring.mechanics.validity import Interval, OutOfRange, OutsideTests
from evener.scoring.mechanics.work import cost, draft

ALONE = {"G_V": 0, "G_H": 0, "a": 0, "b": 2.0, "c": 0, "d": 0}
TYRE = {"b": 0.4, "d": 1.6, "delta_h": 0.2}


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        ("[0, 1]", [0.0, 0.5, 1.0], [-1e-9, 1.000001]),
        ("(0, 1)", [0.5], [0.0, 1.0]),
        ("[0, inf)", [0.0, 1e300], [math.inf, -1.0]),
        ("(0, inf]", [math.inf, 1.0], [0.0]),
    ],
)
def test_an_interval_holds_what_its_notation_says(text, inside, outside):
    """Closed ends are inside, open ends are not, and NaN is never inside."""
    interval = Interval.parse(text)
    assert all(interval.holds(value) for value in inside)
    assert not any(interval.holds(value) for value in [*outside, math.nan])
    assert not interval.holds(np.array([inside[0], math.nan]))
    assert interval.holds(np.array(inside))


@pytest.mark.parametrize("text", ["0 to 1", "[1, 1]", "[2, 1]", "[a, b]", "[0; 1]", ""])
def test_what_is_not_an_interval_is_refused(text):
    """A slip in the notation is found when the formula is read."""
    with pytest.raises(ValueError, match=r"interval|convert"):
        Interval.parse(text)


def test_a_value_outside_is_named_with_its_unit_range_and_source():
    """The message says which argument, its value, the range, the equation and what to look at."""
    with pytest.raises(OutOfRange) as refusal:
        draft.draft(1.0, A=652, B=0, C=5.1, S=80, W=1, T=15)
    assert str(refusal.value) == (
        "draft.draft: S = 80 [km/h] is outside [0, 25], the range of D = F_i (A + B S + C S^2) W T / 1000 (UAZ). "
        "Check the number and its unit."
    )


def test_one_draw_outside_is_enough():
    """An array is refused for its one wrong number, which the message shows."""
    with pytest.raises(OutOfRange, match=r"slope = 1.5 "):
        grade.grade_force(1000.0, slope=np.array([0.1, 1.5, 0.2]))


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_no_formula_takes_a_number_that_is_not_finite(wrong):
    """NaN and infinity are refused as first argument of every formula."""
    for method in methods.load_all().values():
        first, *rest = method.units
        given = dict.fromkeys(rest, 1.0)
        with pytest.raises(OutOfRange, match=f"{first} = "):
            method.function(wrong, **given)


@pytest.mark.parametrize("width", [0.158, 1.13])
def test_tyres_beyond_the_equations_are_refused(width):
    """b/d outside 0.1 to 0.7 is no tyre of the traction equations."""
    with pytest.raises(OutOfRange, match="b/d"):
        traction.mobility_number(900, b=width, d=1.6, W=30 * width * 1.6, delta_h=0.2)


@pytest.mark.parametrize("width", [0.162, 1.11])
def test_tyres_of_the_equations_are_taken(width):
    """b/d from 0.1 to 0.7 is within the equations."""
    assert traction.mobility_number(900, b=width, d=1.6, W=30 * width * 1.6, delta_h=0.2) > 0


@pytest.mark.parametrize(("deflection", "taken"), [(0.099, False), (0.1, True), (0.3, True), (0.301, False)])
def test_a_tyre_deflects_by_a_tenth_to_three_tenths(deflection, taken):
    """Deflection outside 10 to 30 % of section height is not in the tests of the equations."""
    tyre = {**TYRE, "delta_h": deflection}
    if taken:
        assert traction.mobility_number(900, W=20, **tyre) > 0
    else:
        with pytest.raises(OutOfRange, match="delta_h"):
            traction.mobility_number(900, W=20, **tyre)


@pytest.mark.parametrize("load", [9.0, 36.0])
def test_loads_beyond_the_traction_tests_warn(load):
    """W/(b d) outside 15 to 55 kN/m2 still gives a number, with a warning that names the range."""
    with pytest.warns(OutsideTests, match=r"\[15, 55\]"):
        traction.mobility_number(900, W=load, **TYRE)


@pytest.mark.parametrize("load", [9.7, 35.0])
def test_loads_of_the_traction_tests_do_not_warn(load):
    """Inside 15 to 55 kN/m2 there is nothing to say."""
    assert traction.mobility_number(900, W=load, **TYRE) > 0


def test_more_pull_than_the_soil_gives_is_refused():
    """No slip is made up for a pull that the soil does not give."""
    most = traction.net_traction(20.0, s=traction.slip_of_largest_pull(20.0))
    assert traction.slip_for_pull(most - 1e-9, B_n=20.0) == pytest.approx(traction.slip_of_largest_pull(20.0), abs=1e-3)
    with pytest.raises(OutOfRange, match="more than this soil gives"):
        traction.slip_for_pull(most + 1e-6, B_n=20.0)


def test_a_pull_that_lifts_the_front_axle_is_refused():
    """A light front axle and a high hitch end in an error that says what to do."""
    with pytest.raises(OutOfRange, match="lift the front axle"):
        tractor_pull.pull_at_slip(20.0, W_f=2.0, t_r=0.6, t_f=-0.06, y=0.8, b=1.8)


def test_a_pull_may_leave_the_front_axle_almost_nothing():
    """Up to the point where the front axle lifts, the pull is given."""
    pull = tractor_pull.pull_at_slip(20.0, W_f=3.84, t_r=0.4, t_f=0.0, y=1.0, b=2.49)
    assert 0 < 3.84 - pull * 1.0 / 2.49 < 0.05
    with pytest.raises(OutOfRange, match="lift the front axle"):
        tractor_pull.pull_at_slip(20.0, W_f=3.82, t_r=0.4, t_f=0.0, y=1.0, b=2.49)


def test_all_slip_is_the_most_a_wheel_can_slip():
    """On ground as hard as rock the largest pull is at full slip, not beyond it."""
    assert traction.slip_of_largest_pull(1e6) == 1.0


def test_a_remaining_value_may_end_near_nothing():
    """Up to the age where the bracket reaches zero, the value is its square."""
    row = {"C_1": 0.6, "C_2": 0.1, "C_3": 0.0}
    assert cost.remaining_value(33.0, h=0.0, **row) == pytest.approx((0.6 - 0.1 * 33**0.5) ** 2)


def test_a_remaining_value_does_not_rise_again():
    """Beyond the age where the bracket reaches zero the square would grow; the equation ends there."""
    with pytest.raises(OutOfRange, match="reached zero"):
        cost.remaining_value(40.0, h=3000.0, C_1=0.756, C_2=0.12, C_3=0.0058)


def test_a_balance_that_does_not_close_prints_both_sides():
    """Axle loads that do not sum to the mass are a BalanceError with the two figures."""
    with pytest.raises(
        balance.BalanceError,
        match=r"^axle loads against mass \[kg\] does not close: 2900 on one side, 3000 on the other$",
    ):
        balance.axle_loads(3000, T_V=1100, T_H=1800, **ALONE)


def test_a_balance_shows_the_draw_that_does_not_close():
    """In an array the sides of the wrong draw are printed."""
    with pytest.raises(balance.BalanceError, match="2950 on one side, 3000 on the other"):
        balance.axle_loads(3000, T_V=np.array([1100.0, 1050.0]), T_H=1900, **ALONE)


def test_a_balance_allows_for_a_scale_that_reads_whole_kilograms():
    """Axle loads may differ from the mass by a kilogram in sum, and by no more unless the caller says so."""
    assert balance.axle_loads(3000, T_V=1100, T_H=1899.02, **ALONE).total == 3000
    with pytest.raises(balance.BalanceError):
        balance.axle_loads(3000, T_V=1100, T_H=1898.98, **ALONE)
    assert balance.axle_loads(3000, T_V=1100, T_H=1895, **ALONE, tolerance=5).total == 3000
