"""Fuel and money against printed examples; each test is named by its entry in the data files."""

from __future__ import annotations

import pytest

from evener.scoring.mechanics.engine import drawbar, fuel
from evener.scoring.mechanics.work import cost, work_rate


def test_fuel_01(case, convert):
    """Test-laboratory professor: fuel of two tractors of 17 and 18 hp-h/gal, and what the better one saves."""
    power = case.si("power_hp", "hp", "kW")
    rates = {
        tractor: fuel.fuel_from_economy(power, e=case.si(f"eff_{tractor}_hp_h_gal", "hp*hour/gallon", "kWh/liter"))
        for tractor in ("a", "b")
    }
    case.expect("a_gal_h", rates["a"], "liter/hour", "gallon/hour")
    case.expect("b_gal_h", rates["b"], "liter/hour", "gallon/hour")
    saved = convert(rates["a"] - rates["b"], "liter/hour", "gallon/hour")
    case.expect("diff_gal_h", saved)
    case.expect("saving_per_year", saved * case["hours_per_year"] * case["price_per_gal"])


def test_fuel_02(case):
    """Board review set, item 29: fuel of a day from specific consumption."""
    power = case["power_hp"] * case["kW_per_hp"]
    case.expect("power_kW", power)
    rate = fuel.fuel_from_specific(power, b_e=case["sfc_kg_kWh"], rho=case["density_kg_L"])
    case.expect("fuel_L", rate * case["hours"])
    case.expect("fuel_kg_h", rate * case["density_kg_L"])
    case.expect("fuel_kg", rate * case["density_kg_L"] * case["hours"])


def test_fuel_03(case, convert):
    """Nebraska CropWatch: diesel per acre of six tillage systems is the sum of their passes."""
    rate = work_rate.field_capacity(1, w=10, eta_f=1)
    for system, passes in case.entry["inputs"].items():
        litres = sum(
            fuel.fuel_per_area(convert(each, "gallon/acre", "liter/hectare") * rate, C_a=rate)
            for each in passes.values()
        )
        case.expect(system, litres, "liter/hectare", "gallon/acre")


def test_fuel_05(case, convert):
    """Virginia Extension 442-450: 55 lb through 10 ft is 550 ft-lbf, in one second a horsepower."""
    power = drawbar.drawbar_power(case.si("weight_lb", "lbf", "kN"), S=case.si("height_ft", "ft/s", "km/hour"))
    case.expect("work_ft_lbf", power, "kW", "ft*lbf/s")
    assert convert(power, "kW", "hp") == pytest.approx(1)


def test_fuel_06(case, convert):
    """Colorado State 5.006: densities of fuels, and diesel at the mean load near the yearly average."""
    diesel = convert(case.printed("diesel_lb_gal"), "lb/gallon", "kg/liter")
    assert diesel == pytest.approx(0.84, abs=0.005)
    energy = {name: case.printed(f"{name}_Btu_gal") for name in ("diesel", "gasoline", "lpg")}
    density = {name: case.entry["outputs"][f"{name}_lb_gal"] for name in energy}
    for name in ("gasoline", "lpg"):
        case.waive(f"{name}_lb_gal", "used below")
        assert energy[name] / density[name] == pytest.approx(energy["diesel"] / density["diesel"], rel=0.12)
    low, high = case.printed("average_load_fraction_of_max")
    assert fuel.diesel_at_load(1.0, X=low) <= fuel.average_diesel(1.0) * 1.05
    assert fuel.diesel_at_load(1.0, X=high) >= fuel.average_diesel(1.0)


def test_cost_01(case):
    """Edwards A3-29, older edition: salvage, depreciation and real interest of a 180 PTO hp tractor."""
    salvage = cost.salvage(case["list_price"], RV=case["remaining_fraction"])
    case.expect("salvage", salvage)
    case.expect("total_depreciation", case["purchase_price"] - salvage)
    rate = cost.real_interest(case["nominal_rate"], f=case["inflation"])
    case.expect("real_rate", rate)
    recovery = cost.capital_recovery(
        case["purchase_price"], S=salvage, CRF=cost.capital_recovery_factor(rate, n=case["life_y"]), i=rate
    )
    case.by_hand(recovery, "", "", hand=68200 * 0.05 * 1.05**15 / (1.05**15 - 1) + 25300 * 0.05)


def test_cost_03(case):
    """Edwards A3-29, later edition, from memory: capital recovery, taxes and ownership by the rounded factor 0.096."""
    recovery = cost.capital_recovery(case["purchase"], S=case["salvage"], CRF=case["crf_printed"], i=case["real_rate"])
    case.expect("capital_recovery", recovery)
    taxes = cost.taxes_insurance_housing(case["purchase"], S=case["salvage"], k=case["tih_rate"])
    case.expect("tih", taxes)
    case.expect("ownership_per_year", recovery + taxes)
    case.expect("ownership_per_hour", (recovery + taxes) / case["hours"])
    assert cost.capital_recovery_factor(case["real_rate"], n=case["years"]) == pytest.approx(0.096, abs=0.0005)


def test_cost_04(case):
    """Illinois farmdoc 2008: 36 % left after 10 years of 300 h; the standard's three classes lie within 4 points."""
    left = case.printed("salvage_fraction_of_list")
    for c_1, c_2, c_3 in ((0.981, 0.093, 0.0058), (0.942, 0.1, 0.0008), (0.976, 0.119, 0.0019)):
        value = cost.remaining_value(case["years"], h=case["hours_per_year"], C_1=c_1, C_2=c_2, C_3=c_3)
        assert value == pytest.approx(left, abs=0.04)
    assert case.printed("purchase_fraction_of_list") > left
    case.waive("interest", "a rate of its time, nothing to compute")


def test_table_rv_tractor(case):
    """Edwards A3-29: 23 % of list is left of a 180 PTO hp tractor after 15 years of 400 h."""
    value = cost.remaining_value(case["age_yr"], h=case["use_h_yr"], C_1=case["C_1"], C_2=case["C_2"], C_3=case["C_3"])
    case.expect("remaining_pct", 100 * value)


def test_table_rm_tractor(case):
    """Calcante 2013: repairs of a 4WD tractor reach 43.2 % of list at 12,000 h by the U.S. model."""
    total = cost.repair_between(0, h_2=case["hours"], P=1.0, RF_1=case["RF_1"], RF_2=case["RF_2"])
    case.expect("repair_pct", 100 * total)


def test_table_rm_combine(case):
    """Calcante 2013: repairs of a combine reach 40.2 % of list at 3,000 h by the U.S. model."""
    case.expect("repair_pct", 100 * cost.repair_to_date(case["hours"], P=1.0, RF_1=case["RF_1"], RF_2=case["RF_2"]))


def test_table_diesel(case):
    """Grisso: the yearly average is 0.044 gal for each PTO hp and hour."""
    rate = fuel.average_diesel(case.si("pto_hp", "hp", "kW"))
    case.expect("diesel_gal_h", rate, "liter/hour", "gallon/hour")
