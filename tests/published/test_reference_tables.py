"""The shipped tables against what their sources print beside them, and against the formulas that read them."""

from __future__ import annotations

import pytest

from evener.scoring.mechanics.engine import drawbar, fuel, shaft
from evener.scoring.mechanics.work import bales, cost, draft, liquids, work_rate

UAZ_ROWS = {"2WD": "twd", "front wheel assist": "fwa", "4WD": "fwd4", "tracks": "tracks"}
UAZ_SURFACES = {"concrete": "concrete", "firm soil": "firm", "tilled soil": "tilled", "soft soil": "soft"}
UAZ_SLIP = {"firm soil": "firm_pct", "tilled soil": "tilled_pct", "soft soil and sand": "soft_pct"}
UNL_DENSITIES = {
    "water": 1.00,
    "UAN 28-0-0": 1.28,
    "UAN 32-0-0": 1.32,
    "liquid fertilizer 7-21-7": 1.32,
    "liquid fertilizer 10-34-0": 1.37,
    "liquid fertilizer 12-0-0-26": 1.38,
    "liquid fertilizer 11-37-0": 1.39,
    "kerosene": 0.79,
}


def number(row, name):
    """Read a cell that may be empty."""
    return float(row[name]) if row[name] else None


def test_the_power_ratios_are_those_printed(table, published):
    """Arizona prints 16 drawbar ratios and 0.90 from the flywheel; the table has them all."""
    printed = published["EFF-03"]
    rows = [row for row in table("power_ratios") if row["source_id"] == "UAZ"]
    drawbar_ratios = {(row["tractor_type"], row["surface"]): float(row["ratio"]) for row in rows}
    for kind, key in UAZ_ROWS.items():
        for surface, column in UAZ_SURFACES.items():
            place = printed["inputs"]["columns"].index(column)
            assert drawbar_ratios[kind, surface] == printed["outputs"][key][place]
    assert drawbar_ratios["all", "stationary"] == printed["inputs"]["flywheel_to_pto"]


def test_the_slip_bands_are_those_printed(table, published):
    """Arizona prints a slip band for each soil; the table has them, and the mobility numbers beside them."""
    rows = {row["soil_condition"]: row for row in table("soil_conditions")}
    printed = published["TABLE-SLIP"]
    for soil, key in UAZ_SLIP.items():
        assert [float(rows[soil][f"slip_pct_{end}"]) for end in ("low", "high")] == printed["outputs"][key]
    for soil, key in {"firm": "firm", "tilled": "tilled", "soft, sandy": "soft"}.items():
        assert float(rows[soil]["bn_at_30_kn_per_m2"]) == printed["inputs"][key]


def test_the_plough_row_gives_the_draft_worked_by_hand(table):
    """A mouldboard plough of 1 m at 15 cm and 8 km/h in fine soil pulls (652 + 5.1 x 64) x 15 = 14,676 N."""
    row = next(row for row in table("draft") if row["implement"] == "moldboard plow")
    pull = draft.draft(
        float(row["f1_fine"]),
        A=float(row["a_n"]),
        B=float(row["b_n_per_km_h"]),
        C=float(row["c_n_per_km_h2"]),
        S=8,
        W=1,
        T=15,
    )
    assert 1000 * pull == pytest.approx(14676)


def test_every_draft_row_grows_with_speed_and_eases_in_coarser_soil(table):
    """No row of the draft table falls with speed or asks more in coarser soil, and fine soil is the base."""
    for row in table("draft"):
        factors = [float(row[name]) for name in ("f1_fine", "f2_medium", "f3_coarse")]
        assert factors == sorted(factors, reverse=True)
        assert factors[0] == 1.0
        parameters = {
            "A": float(row["a_n"]),
            "B": float(row["b_n_per_km_h"]),
            "C": float(row["c_n_per_km_h2"]),
            "W": 1,
            "T": 1,
        }
        assert draft.draft(1.0, S=10, **parameters) >= draft.draft(1.0, S=5, **parameters) > 0


def test_tillage_asks_what_the_rule_of_thumb_gives(table):
    """NSW Primefact: 20 to 35 engine kW for each metre of primary tillage, by soil, depth and speed, within a half."""
    rows = {(row["implement"], row["variant"]): row for row in table("draft")}
    for tool, tools, depth, speed in (
        (("moldboard plow", ""), 1, 15, 6),
        (("chisel plow", "5 cm straight point"), 3.3, 15, 7),
        (("disk harrow, offset", "primary tillage"), 1, 12, 8),
    ):
        row = rows[tool]
        pull = draft.draft(
            float(row["f2_medium"]),
            A=float(row["a_n"]),
            B=float(row["b_n_per_km_h"]),
            C=float(row["c_n_per_km_h2"]),
            S=speed,
            W=tools,
            T=depth,
        )
        engine = drawbar.drawbar_power(pull, S=speed) / 0.72 / 0.90
        assert 20 / 1.5 <= engine <= 35 * 1.5, tool


def test_the_repair_factors_give_the_life_totals(table):
    """Repairs over the life of each machine are the total that stands beside it, to the 5 % it is rounded to."""
    checked = 0
    for row in table("field_operations"):
        total, life = number(row, "total_life_rm_pct_of_list"), number(row, "life_h")
        if total is None or life is None:
            continue
        repairs = cost.repair_to_date(life, P=100.0, RF_1=float(row["rf1"]), RF_2=float(row["rf2"]))
        assert repairs == pytest.approx(total, abs=3.3), row["machine"]
        checked += 1
    assert checked > 35


def test_the_printed_repair_totals_come_from_the_table(table, published):
    """Calcante 2013: 43.2 % at 12,000 h and 40.2 % at 3,000 h come from the factors of the table."""
    rows = {row["machine"]: row for row in table("costs") if row["parameter_set"] == "repair_maintenance"}
    for machine, entry in {
        "tractor, 4WD and crawler": "TABLE-RM-TRACTOR",
        "combine, self-propelled": "TABLE-RM-COMBINE",
    }.items():
        row = rows[machine]
        hours = published[entry]["inputs"]["hours"]
        total = cost.repair_to_date(hours, P=100.0, RF_1=float(row["rf1"]), RF_2=float(row["rf2"]))
        assert total == pytest.approx(published[entry]["outputs"]["repair_pct"], abs=0.05)


def test_the_printed_remaining_value_comes_from_the_table(table, published):
    """Iowa State A3-29 and Illinois farmdoc: 23 % and 36 % come from the tractor rows of the table."""
    rows = [row for row in table("costs") if row["parameter_set"] == "remaining_value"]
    tractors = {number(row, "pto_power_kw_min"): row for row in rows if row["machine"] == "farm tractor"}

    def left(row, years, hours):
        factors = {f"C_{place}": float(row[f"c{place}"]) for place in (1, 2, 3)}
        return 100 * cost.remaining_value(years, h=hours, **factors)

    assert left(tractors[112.0], 15, 400) == pytest.approx(
        published["TABLE-RV-TRACTOR"]["outputs"]["remaining_pct"], abs=0.5
    )
    for row in tractors.values():
        assert left(row, 10, 300) == pytest.approx(36, abs=4)


def test_the_fuel_figures_are_those_of_the_equations(table):
    """The table's fuel and oil coefficients are the constants of the formulas."""
    rows = {row["other_name"]: float(row["other_value"]) for row in table("costs") if row["parameter_set"] == "other"}
    assert fuel.average_diesel(1.0) == rows["avg_diesel_L_per_h_per_kW_PTO"]
    assert fuel.diesel_at_load(1.0, X=0.0) == rows["diesel_intercept_b_L_per_kWh"]
    slope = fuel.diesel_at_load(1.0, X=1.0) - fuel.diesel_at_load(1.0, X=0.0)
    assert slope == pytest.approx(rows["diesel_slope_a_L_per_kWh"])
    assert fuel.oil_diesel(0.0) == rows["oil_diesel_intercept_L_per_h"]
    assert fuel.oil_gasoline(0.0) == rows["oil_gasoline_intercept_L_per_h"]


def test_bale_volumes_and_densities_are_those_of_their_sizes(table):
    """Volume is that of the size within its rounding, and density is mass over volume to 1 %."""
    for row in table("bale_mass"):
        diameter, width, height, length = (
            number(row, name) for name in ("diameter_m", "width_m", "height_m", "length_m")
        )
        size = (
            bales.round_volume(diameter, h=width) if diameter else bales.square_volume(width, h=height, length=length)
        )
        volume = float(row["volume_m3"])
        assert volume == pytest.approx(size, rel=0.025), row
        mass, density = number(row, "mass_kg"), number(row, "bulk_density_kg_m3")
        if mass and density:
            assert bales.bale_mass(volume, rho=density) == pytest.approx(mass, rel=0.01), row


def test_liquid_densities_are_those_printed(table):
    """Nebraska CropWatch prints specific gravities of eight liquids; the table has them."""
    rows = {row["condition"]: row for row in table("material_density") if row["source_id"] == "UNL-16"}
    assert {
        name: round(liquids.specific_gravity(float(row["density_kg_m3"])), 2) for name, row in rows.items()
    } == UNL_DENSITIES


def test_ballast_figures_are_the_printed_pounds_per_horsepower(table, published, convert):
    """South African ballast article: 145, 130 and 110 lb/hp and the front shares are the table's in SI."""
    printed = published["STAB-04"]["inputs"]
    rows = [row for row in table("ballast") if row["source_id"] == "BALLAST-ZA"]
    masses = {
        row["drive_or_job"]: number(row, "mass_per_power_kg_per_kw")
        for row in rows
        if number(row, "mass_per_power_kg_per_kw")
    }
    for drive, key in {"2WD": "twd_pto", "front wheel assist": "mfwd_pto", "4WD": "fwd4_engine"}.items():
        assert masses[drive] == pytest.approx(convert(printed["table_lb_per_hp"][key], "lb/hp", "kg/kW"), abs=0.06)
    fronts = {row["drive_or_job"]: number(row, "front_pct_low") for row in rows if number(row, "front_pct_low")}
    for drive, key in {
        "2WD": "twd",
        "front wheel assist, drawbar work": "mfwd_drawbar",
        "front wheel assist, 3-point work": "mfwd_3pt",
    }.items():
        assert fronts[drive] == 100 * printed["table_split_front"][key]
    assert fronts["4WD"] == 100 * printed["table_split_front"]["fwd4"][0]


def test_pto_torques_are_power_over_speed(table):
    """Torque at the power limit of each shaft is the power over its speed."""
    for row in table("pto_types"):
        if row["torque_at_max_n_m"]:
            torque = shaft.torque(float(row["max_pto_power_kw"]), n=float(row["rated_speed_rpm"]))
            assert torque == pytest.approx(float(row["torque_at_max_n_m"]), abs=0.5), row


def test_power_per_width_of_the_trade_rules_is_power_over_width(table):
    """Each rule's power over its size is the power per metre beside it, but for snow blowers, which name two sizes."""
    checked = 0
    for row in table("pto_power_rules"):
        if row["implement"] == "snow blower":
            continue
        for end in ("min", "max"):
            size, power, per_metre = (
                number(row, name) for name in ("size_m", f"pto_power_kw_{end}", f"pto_power_kw_per_m_{end}")
            )
            if size and power and per_metre:
                assert power / size == pytest.approx(per_metre, abs=0.08), row
                checked += 1
    assert checked > 10


def test_typical_speeds_and_efficiencies_lie_in_their_ranges(table):
    """The typical value is never outside the range beside it, and gives a capacity between those of the ends."""
    for row in table("field_operations"):
        for name in ("field_eff_pct", "speed_km_h"):
            low, high, typical = (number(row, f"{name}_{end}") for end in ("min", "max", "typ"))
            if typical is not None:
                assert (low or typical) <= typical <= (high or typical), row["machine"]
        ends = [
            number(row, f"{name}_{end}") for end in ("min", "typ", "max") for name in ("speed_km_h", "field_eff_pct")
        ]
        if None not in ends:
            rates = [work_rate.field_capacity(ends[i], w=3, eta_f=ends[i + 1] / 100) for i in (0, 2, 4)]
            assert rates == sorted(rates)
