"""Rules between two values of a row, and the estimate of PTO power from the engine's."""

import numpy as np
import pytest

from evener.ingest.rows import estimates
from evener.ingest.rows.checks import rules
from evener.ingest.text.held_values import Words
from evener.schema import fields
from evener.schema.store import connection as store

SOUND = {
    "engine_power_kw": 44.0,
    "pto_power_kw": 37.0,
    "mass_kg": 2630.0,
    "max_mass_kg": 4400.0,
    "hitch_lift_610_kg": 1400.0,
    "hitch_lift_ends_kg": 2000.0,
    "loader_lift_kg": 1100.0,
    "front_axle_max_kg": 2600.0,
    "rear_axle_max_kg": 3300.0,
    "track_width_m": 1.4,
    "overall_width_m": 1.9,
    "rear_tyre_width_m": 0.4,
    "rear_tyre_diameter_m": 1.4,
}


def found(**changed):
    """What is found in one tractor row."""
    row = {name: np.array([value], float) for name, value in {**SOUND, **changed}.items()}
    return [finding for _, finding in rules.check("tractor", row, [7])]


def test_a_sound_row_passes():
    """A tractor of plausible figures breaks no rule, and a blank breaks none either."""
    assert found() == []
    assert found(**dict.fromkeys(SOUND, np.nan)) == []


@pytest.mark.parametrize(
    ("changed", "finding_id", "says"),
    [
        ({"pto_power_kw": 56.0, "engine_power_kw": 22.4}, "order-reversed", "pto_power_kw (56 kW) is more than engine"),
        ({"hitch_lift_610_kg": 4000.0}, "order-reversed", "more than hitch_lift_ends_kg (2000 kg)"),
        ({"mass_kg": 4500.0}, "order-reversed", "more than max_mass_kg"),
        ({"front_axle_max_kg": 900.0}, "axle-loads-short", "4200 kg together and the permitted mass is 4400 kg"),
        ({"hitch_lift_610_kg": np.nan, "hitch_lift_ends_kg": 5000.0}, "odd-ratio", "1.9; machines have 0.1 to 1.5"),
        ({"pto_power_kw": 20.0}, "odd-ratio", "machines have at least 0.5"),
        ({"track_width_m": 2.0}, "order-reversed", "more than overall_width_m"),
    ],
)
def test_a_contradiction_is_one_finding(changed, finding_id, says):
    """One slip is one finding, which names both values and the line."""
    (finding,) = found(**changed)
    assert finding.id == finding_id
    assert says in finding.message
    assert finding.row == 7


def test_categories_have_an_order():
    """The smallest linkage category that fits may not be above the largest."""
    row = {
        "hitch_category_min": Words.of(["1", "3", None]),
        "hitch_category_max": Words.of(["2", "2", "2"]),
    }
    assert [position for position, _ in rules.check("implement", row, [2, 3, 4])] == [1]


def test_rules_name_fields_of_the_nomenclature():
    """Every rule is about two fields of its record, says why, and bounds run upwards."""
    for rule in rules.rules():
        assert {rule.first, rule.second} <= set(fields.of(rule.record))
        assert rule.reason
        assert rule.low < rule.high


@pytest.fixture(scope="module")
def ratios(library_store):
    """Ratios from the shipped table."""
    with store.open_read(library_store) as con:
        return estimates.pto_ratios(store.read_rows(con, "power_ratios"))


@pytest.mark.parametrize(
    ("hydrostatic", "kind", "middle", "low", "high"),
    [
        (False, "net", 0.90, 0.87, 0.92),
        (False, "gross", 0.83, 0.80, 0.85),
        (False, None, 0.86, 0.80, 0.92),
        (True, "gross", 0.80, 0.75, 0.85),
        (True, None, 0.80, 0.75, 0.85),
    ],
)
def test_pto_power_follows_the_published_ratios(ratios, hydrostatic, kind, middle, low, high):
    """Arizona: 0.90 of flywheel power; EP496 (memory): 0.83 of gross; practice: 0.75 to 0.85 if hydrostatic."""
    ratio = ratios[hydrostatic, kind]
    assert (ratio.middle, ratio.low, ratio.high) == pytest.approx((middle, low, high), abs=0.005)


def test_only_blanks_are_estimated(ratios):
    """A stated PTO power stays; a blank beside an engine power is filled and says from what and with which spread."""
    columns = {
        "pto_power_kw": np.array([37.0, np.nan, np.nan, np.nan]),
        "engine_power_kw": np.array([44.0, 44.0, 44.0, np.nan]),
        "engine_power_kind": Words.of(["net", "net", None, "net"]),
        "transmission": Words.of(["gear", "gear", "hydrostatic", "gear"]),
    }
    power, reasons = estimates.pto_power(columns, ratios)
    assert power == pytest.approx([37.0, 39.6, 35.2, np.nan], nan_ok=True)
    said = {int(row): reason for where, reason in reasons for row in np.flatnonzero(where)}
    assert sorted(said) == [1, 2]
    assert said[1].basis == "0.9 x net engine power, 0.87 to 0.92 (UAZ, published)"
    assert (said[1].spread_pct, said[2].spread_pct) == (3.0, 6.0)


def test_a_table_without_the_ratios_is_said():
    """A power_ratios table that lost a row the estimate needs is named."""
    with pytest.raises(LookupError, match="power_ratios has no row"):
        estimates.pto_ratios([])
