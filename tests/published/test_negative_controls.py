"""Published claims that are wrong must come out wrong: what the formulas give is not what these pages print."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from evener.scoring.mechanics.engine import drawbar
from evener.scoring.mechanics.work import bales, draft, liquids, work_rate

CONTROLS = {
    entry["id"]: entry
    for entry in json.loads((Path(__file__).parent / "data" / "negative_controls.json").read_text(encoding="utf-8"))
}


def plough_power(convert):
    """NEG-01: 4 x 30 cm at 15 cm and 0.7 kg/cm2, 6 km/h, in horsepower of 274 kgf km/h."""
    pull = draft.plough_draft(convert(0.7, "kgf/cm**2", "kPa"), w=4 * 0.30, d=0.15)
    power = drawbar.drawbar_power(pull, S=6)
    return convert(power, "kW", "kgf*km/hour") / 274, 27.6, 3.89, 0.05


def bale_volume(convert):
    """NEG-02: a round bale is a cylinder and not a sphere."""
    volume = bales.round_volume(1.5, h=1.2)
    return volume, math.pi / 4 * 1.5**2 * 1.2, math.pi / 6 * 1.5**2 * 1.2, 1e-9


def area_of_a_shift(convert):
    """NEG-03: 8 h of 4 x 35 cm at 6 km/h with 6 % lost, against the largest area offered."""
    return 8 * work_rate.field_capacity(6, w=4 * 0.35, eta_f=0.94), 6.32, 0.67, 0.005


def field_capacity_constant(convert):
    """NEG-04: acres an hour of 10 ft at 5 mph and 80 %, by 8.25 and not by 8250."""
    rate = work_rate.field_capacity(convert(5, "mph", "km/hour"), w=convert(10, "ft", "m"), eta_f=0.8)
    return convert(rate, "hectare/hour", "acre/hour"), 5 * 10 * 0.8 / 8.25, 5 * 10 * 0.8 / 8250, 1e-4


def heavy_liquid(convert):
    """NEG-05: 12 lb/gal has a specific gravity of 1.44."""
    return liquids.specific_gravity(convert(12, "lb/gallon", "kg/m**3")), 1.44, 1.68, 0.005


CONTRADICTIONS = {
    "NEG-01": plough_power,
    "NEG-02": bale_volume,
    "NEG-03": area_of_a_shift,
    "NEG-04": field_capacity_constant,
    "NEG-05": heavy_liquid,
}


@pytest.mark.parametrize("control", CONTROLS)
def test_a_wrong_published_claim_comes_out_wrong(control, convert):
    """The formula gives the right answer and contradicts the printed one by more than a tenth of it."""
    result, right, claimed, within = CONTRADICTIONS[control](convert)
    assert result == pytest.approx(right, abs=within)
    assert abs(result - claimed) > 0.1 * claimed
