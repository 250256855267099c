"""Traction, slip and hills against printed examples; each test is named by its entry in the data files."""

from __future__ import annotations

import math
from itertools import pairwise

from evener.scoring.mechanics.engine import drawbar
from evener.scoring.mechanics.tyres import grade, second_traction, slip, traction

FIELD = ("firm", "tilled", "soft")


def test_eff_03(case):
    """Arizona power ratios: drawbar over PTO falls with softer ground, and drives more wheels better."""
    rows = [case.printed(row) for row in ("twd", "fwa", "fwd4")]
    for row in rows:
        assert row == sorted(row, reverse=True)
    for fewer, more in pairwise(rows):
        assert all(one <= other for one, other in zip(fewer, more, strict=True))
    tracks = dict(zip(case["columns"], case.printed("tracks"), strict=True))
    assert tracks["firm"] < tracks["tilled"]  # as printed, against the order of the other rows: likely a misprint


def test_trac_01(case):
    """Lecture assignment, table 5.2, bad field: all four parameters of a 9.5-24 tyre at 7 kN."""
    number = second_traction.mobility_number(
        case["cone_index_kPa"], b=case["b_m"], d=case["d_m"], W=case["load_kN"], delta_h=case["deflection_ratio"]
    )
    case.expect("CT_max", second_traction.largest_traction(number))
    case.expect("k_CTmax", second_traction.rate(number))
    case.expect("CRR", second_traction.rolling_resistance(number))
    best = max(second_traction.efficiency(number, s=percent / 100) for percent in range(1, 60))
    case.expect("eta_max", best)


def test_trac_03(case, convert):
    """National examination: drawbar power from tractive force, slip and motion resistance, inside the printed key."""
    speed = slip.travel_speed(
        slip.no_load_speed(case["engine_rpm"], i=case["ratio"], r=case["rolling_radius_m"]), s=case["slip"]
    )
    power = drawbar.drawbar_power(case["tractive_force_kN"] - case["motion_resistance_kN"], S=speed)
    assert case.printed("drawbar_kW_key_low") <= power <= case.printed("drawbar_kW_key_high")
    case.by_hand(power, "kW", "kW", hand=16.75 * 2 * math.pi * 0.6 * 20 / 60 * 0.88)


def test_trac_04(case):
    """Examination item: power lost from engine to drawbar equals the one printed option that fits."""
    efficiency = traction.efficiency_of_pull(case["draft_kN"], MR=case["motion_resistance_kN"], s=case["slip"])
    at_engine = drawbar.total_power(1.0, E_m=case["transmission_eff"], E_t=efficiency)
    case.expect("lost_percent", 100 * (1 - 1 / at_engine))


def test_trac_05(case, convert):
    """Civil-service item: drawbar pull lost when rolling resistance rises from 30 to 40 kg for each tonne."""
    mass = 1000 * case["weight_t"]
    before, after = (traction.rolling_force(mass, MR_W=case[f"rr_kg_per_t_{road}"] / 1000) for road in (1, 2))
    case.expect("change_kg", before - after, "kN", "kgf")


def test_trac_07(case, convert):
    """Civil-service item: pull of 12 t up 2 % (inputs printed, rolling resistance recomputed by hand: 40 kg/t)."""
    on_grade = convert(grade.grade_force(case["mass_kg"], slope=case["slope_percent"] / 100), "kN", "kgf")
    rolling = convert(traction.rolling_force(case["mass_kg"], MR_W=0.040), "kN", "kgf")
    case.by_hand((on_grade + rolling) / 1000, "", "", hand=(720 - 240 * (1 - math.cos(math.atan(0.02)))) / 1000)


def test_trac_08(case):
    """Exercise in mechanics: part of a weight along slopes of 10 and 20 degrees."""
    mass = case.si("weight_lb", "lb", "kg")
    for degrees in (10, 20):
        force = grade.grade_force(mass, slope=math.tan(math.radians(degrees)))
        case.expect(f"at_{degrees}deg_lb", force, "kN", "lbf")


def test_trac_10(case):
    """Tractor operator's manual: slip from the times over one distance with the implement at work and raised."""
    measured = slip.slip_from_times(case["time_working_s"], t_0=case["time_raised_s"])
    case.expect("slip_percent", 100 * measured)


def test_table_slip(case):
    """Arizona slip bands: working in the printed band costs at most 0.015 of the best tractive efficiency."""
    for soil in FIELD:
        best = traction.tractive_efficiency(case[soil], s=traction.best_slip(case[soil]))
        middle = sum(case.printed(f"{soil}_pct")) / 200
        assert 0 <= best - traction.tractive_efficiency(case[soil], s=middle) <= 0.015


def test_table_te(case):
    """Arizona power ratios: the best tractive efficiency on each soil is the 4WD drawbar ratio within 0.02."""
    for soil in FIELD:
        case.expect(soil, traction.tractive_efficiency(case[soil], s=traction.best_slip(case[soil])))
