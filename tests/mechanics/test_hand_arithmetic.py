"""Every formula redone by hand: the working stands in hand_arithmetic.csv, line by line, for a reader to redo.

These figures are ours. They show that the code says what the equation says; whether the equation is right is for the
printed examples of tests/published to say.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from evener.scoring.mechanics import methods
from evener.scoring.mechanics.stance import balance
from evener.scoring.mechanics.tyres import traction

CASES = list(csv.DictReader((Path(__file__).parent / "hand_arithmetic.csv").read_text(encoding="utf-8").splitlines()))
IMPLICIT = {"traction.best_slip", "traction.slip_for_pull"}
TUPLES = {"balance.axle_loads"}


def arguments(case):
    """Read `a=1; b=2` as keyword arguments."""
    return {name: float(value) for name, value in (pair.split("=") for pair in case["arguments"].split("; "))}


@pytest.mark.parametrize("case", CASES, ids=[f"{case['formula_id']}({case['arguments']})" for case in CASES])
def test_a_formula_gives_what_the_hand_gives(case):
    """The result agrees with the arithmetic written out in the file, to seven digits."""
    result = methods.load_all()[case["formula_id"]].function(**arguments(case))
    assert result == pytest.approx(float(case["result"]), rel=1e-7, abs=1e-12)


def test_every_formula_is_redone_by_hand():
    """No formula is without a line, but those that solve an equation and the one that gives three numbers."""
    assert {case["formula_id"] for case in CASES} == set(methods.load_all()) - IMPLICIT - TUPLES


@pytest.mark.parametrize("case", CASES, ids=[f"{case['formula_id']}({case['arguments']})" for case in CASES])
def test_arrays_go_through_as_numbers_do(case):
    """An array of draws gives the number for each draw, and its shape."""
    function = methods.load_all()[case["formula_id"]].function
    draws = {name: np.full((2, 3), value) for name, value in arguments(case).items()}
    assert np.shape(function(**draws)) == (2, 3)
    assert function(**draws) == pytest.approx(np.full((2, 3), float(case["result"])), rel=1e-7, abs=1e-12)


def test_axle_loads_by_hand():
    """A 3 t tractor with 400 kg in front and 900 kg behind, each axle by moments about the other."""
    loads = balance.axle_loads(3000, T_V=1100, T_H=1900, G_V=400, G_H=900, a=0.5, b=2.0, c=0.9, d=0.6)
    assert loads.front == pytest.approx((400 * 2.5 + 1100 * 2 - 900 * 1.5) / 2)
    assert loads.rear == pytest.approx((1900 * 2 + 900 * 3.5 - 400 * 0.5) / 2)
    assert loads.total == 4300


@pytest.mark.parametrize("number", [15.0, 20.0, 40.0, 55.0, 80.0, 200.0])
def test_best_slip_is_a_peak(number):
    """No slip near the best one, or far from it, is more efficient."""
    best = traction.best_slip(number)
    others = np.concatenate([np.linspace(0.01, 0.9, 400), [best - 0.001, best + 0.001]])
    assert np.all(traction.tractive_efficiency(number, s=others) <= traction.tractive_efficiency(number, s=best))
    assert 0.05 < best < 0.20


@pytest.mark.parametrize("number", [15.0, 40.0, 80.0])
def test_slip_of_the_largest_pull_is_a_peak(number):
    """No slip gives more net traction."""
    most = traction.net_traction(number, s=traction.slip_of_largest_pull(number))
    assert np.all(traction.net_traction(number, s=np.linspace(0, 1, 1001)) <= most + 1e-12)
