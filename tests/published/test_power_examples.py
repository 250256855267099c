"""Engine, PTO and hydraulic power against printed examples; each test is named by its entry in the data files."""

from __future__ import annotations

from evener.scoring.mechanics.engine import drawbar, hydraulics, power_flow, shaft
from evener.scoring.mechanics.tyres import slip


def test_eff_01(case):
    """Field and Solie, problem 1: engine to PTO to drawbar by the 86 % rule."""
    at_pto = power_flow.pto_from_engine(case.si("engine_hp", "hp", "kW"), ratio=case["rule"])
    case.expect("pto_hp", at_pto, "kW", "hp")
    case.expect("drawbar_hp", power_flow.drawbar_from_pto(at_pto, ratio=case["rule"]), "kW", "hp")


def test_eff_02(case):
    """Field and Solie, problem 2: drawbar to PTO (inputs printed, answer recomputed by hand arithmetic)."""
    at_pto = power_flow.pto_from_drawbar(case.si("drawbar_hp", "hp", "kW"), ratio=case["rule"])
    case.by_hand(at_pto, "kW", "hp", hand=50 / 0.86)


def test_pto_02(case, convert):
    """Examination item: speed of 1.5 m wheels, and the force left of 35 hp at the speed the page rounds to."""
    speed = slip.no_load_speed(case["engine_rpm"], i=case["reduction"], r=case["wheel_diameter_m"] / 2)
    case.expect("speed_kmh", speed)
    power = case["engine_hp"] * case["W_per_hp"] / 1000
    page_speed = convert(3.11, "m/s", "km/hour")  # the page turns 11.304 km/h into 3.11 m/s; 3.14 is right
    case.expect("force_total_kN", drawbar.pull_at_power(power, S=page_speed))
    case.expect("force_per_wheel_kN", drawbar.pull_at_power(power, S=page_speed) / 2)
    case.by_hand(drawbar.pull_at_power(power, S=speed), "kN", "kN", hand=26.11 / (1.5 * 3.14159265 * 1200 / 30 / 60))


def test_hyd_01(case):
    """Hydraulic pump table: 20 gal/min at 1,500 psi."""
    power = hydraulics.hydraulic_power(
        case.si("pressure_psi", "psi", "kPa"), q=case.si("flow_gpm", "gallon/minute", "liter/minute")
    )
    case.expect("power_hp", power, "kW", "hp")


def test_hyd_03(case):
    """Missouri pest newsletter 2005: flow of a 60 ft boom, printed as approximately 20 gal/min."""
    flow = hydraulics.boom_flow(
        case.si("rate_gpa", "gallon/acre", "liter/hectare"),
        S=case.si("speed_mph", "mph", "km/hour"),
        w=case.si("boom_ft", "ft", "m"),
    )
    case.expect("flow_gpm", flow, "liter/minute", "gallon/minute")
    power = hydraulics.hydraulic_power(case.si("pressure_psi", "psi", "kPa"), q=flow)
    case.by_hand(power, "kW", "hp", hand=(20 * 8 * 60 / 495) * 40 / 1714.3)


def test_table_harrow(case):
    """Power harrow test 2024: 80 to 620 N m at 1000/min is 8 to 65 kW (recomputed by hand arithmetic)."""
    for torque, kilowatts in zip(case["torque_n_m"], (8.378, 64.93), strict=True):
        case.by_hand(shaft.power(torque, n=case["speed_rpm"]), "kW", "kW", hand=kilowatts)
