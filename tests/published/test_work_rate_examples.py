"""Work rate against printed examples; each test is named by its entry in the data files."""

from __future__ import annotations

import pytest

from evener.scoring.mechanics.work import work_rate


def test_fc_01(case, convert):
    """Iowa State PM 696, table of 19 machines: effective field capacity in acres an hour."""
    for row in case["rows"]:
        capacity = work_rate.field_capacity(
            convert(row["mph"], "mph", "km/hour"), w=convert(row["width_ft"], "ft", "m"), eta_f=row["fe"]
        )
        case.expect(row["machine"], capacity, "hectare/hour", "acre/hour")


def test_fc_04(case):
    """Board review set, items 19 and 20: hectares a day of one and of ten tractors, and the days for 500 ha."""
    one = work_rate.field_capacity(
        case["speed_kmh"], w=case["discs"] * case.si("cut_in", "inch", "m"), eta_f=1 - case["time_loss"]
    )
    case.expect("efc_ha_h", one)
    case.expect("ha_per_day_one", one * case["hours_per_day"])
    case.expect("ha_per_day_all", case["tractors"] * one * case["hours_per_day"])
    hours = work_rate.hours(case["area_ha"], C_a=case["tractors"] * one)
    case.expect("days", work_rate.days(hours, t_day=case["hours_per_day"]))


def test_fc_06(case):
    """Board review set, item 22: area ploughed in a shift; depth plays no part."""
    rate = work_rate.field_capacity(
        case["speed_kmh"], w=case["bottoms"] * case.si("width_cm", "cm", "m"), eta_f=case["field_efficiency"]
    )
    case.expect("efc_ha_h", rate)
    case.expect("area_ha", rate * case["hours"])


def test_fc_08(case):
    """Board review set, items 26 and 30: whole machines, rounded up."""
    for item in ("item26", "item30"):
        given = case[item]
        rate = work_rate.field_capacity(given["speed_kmh"], w=given["width_m"], eta_f=given["fe"])
        needed = work_rate.capacity_for_time(given["area_ha"], t=given["hours"])
        case.expect(f"{item}_raw", needed / rate)
        case.expect(f"{item}_units", work_rate.machines_needed(needed, C_one=rate), within=0)
    case.expect("item30_efc", rate)
    case.expect("item30_hours", work_rate.hours(given["area_ha"], C_a=rate))


def test_fc_09(case):
    """Board review set, item 27: field efficiency from the time lost in turns."""
    width, (across, length), speed = case["width_m"], case["field_m"], case["speed_kmh"]
    rounds = across / width
    case.expect("rows", rounds)
    moving = rounds * length / 1000 / speed
    case.expect("travel_h", moving)
    turning = rounds * case["turn_s"] / 3600
    case.expect("total_h", moving + turning)
    theoretical = work_rate.field_capacity(speed, w=width, eta_f=1)
    case.expect("tfc_ha_h", theoretical)
    efficiency = work_rate.field_efficiency(moving, t_lost=turning)
    case.expect("efficiency_percent", 100 * efficiency)
    case.expect("actual_ha_h", work_rate.field_capacity(speed, w=width, eta_f=efficiency))


def test_fc_10(case):
    """Board review set, item 28: effective width and capacity of a tandem disk harrow."""
    width = work_rate.tandem_disk_width(case["discs"], S_d=case["spacing_m"], D=case["disc_diameter_m"])
    case.expect("width_m", width)
    case.expect("efc_ha_h", work_rate.field_capacity(case["speed_kmh"], w=width, eta_f=case["field_efficiency"]))


def test_fc_13(case):
    """Lecture slides 2023: effective capacity of a combine; the theoretical one is misprinted (11.88 for 11.93)."""
    speed, width = case.si("speed_mph", "mph", "km/hour"), case.si("width_ft", "ft", "m")
    case.expect(
        "efc_ac_h",
        work_rate.field_capacity(speed, w=width, eta_f=case["field_efficiency"]),
        "hectare/hour",
        "acre/hour",
    )
    case.by_hand(work_rate.field_capacity(speed, w=width, eta_f=1), "hectare/hour", "acre/hour", hand=5 * 19.68 / 8.25)
    assert case.printed("tfc_ac_h") != pytest.approx(5 * 19.68 / 8.25, abs=0.005)


def test_fc_14(case):
    """NSW Farmers: hours available are printed; the work rate they ask is recomputed by hand arithmetic."""
    case.expect("hours", case["days"] * case["hours_per_day"])
    hours = case["days"] * case["hours_per_day"]
    case.by_hand(work_rate.capacity_for_time(case["area_ha"], t=hours), "", "", hand=120 / 40)
