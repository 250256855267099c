"""Units: the factors agree with NIST's tables and with pint, and no spelling is read two ways."""

import dataclasses
import subprocess
import sys

import pytest

from evener.schema import units

# NIST SP 811 (2008) appendix B and Handbook 44 appendix C, from memory: spelling, nomenclature unit, printed value,
# half a unit of the last printed digit.
NIST = [
    ("ft", "m", 0.3048, 0.0),
    ("in", "m", 0.0254, 0.0),
    ("yd", "m", 0.9144, 0.0),
    ("mile", "m", 1609.344, 0.0),
    ("sq ft", "ha", 9.290304e-6, 0.0),
    ("ac", "ha", 0.4046856, 5e-8),  # international feet, as Handbook 44 prints since 2023
    ("lb", "kg", 0.4535924, 5e-8),
    ("short ton", "kg", 907.1847, 5e-5),
    ("long ton", "kg", 1016.047, 5e-4),
    ("hp", "kW", 0.7456999, 5e-8),
    ("PS", "kW", 0.7354988, 5e-8),
    ("mph", "km/h", 1.609344, 0.0),
    ("ft/min", "km/h", 0.00508 * 3.6, 1e-12),
    ("US gal", "L", 3.785412, 5e-7),
    ("imp gal", "L", 4.54609, 0.0),
    ("bu", "L", 35.23907, 5e-6),
    ("ft3", "m3", 0.02831685, 5e-9),
    ("yd3", "m3", 0.7645549, 5e-8),
    ("gpm", "L/min", 0.06309020 * 60, 3e-7),
    ("psi", "kPa", 6.894757, 5e-7),
    ("bar", "kPa", 100.0, 0.0),
    ("ton/h", "t/h", 0.2519958 * 3.6, 1.8e-7),
    ("lb/h", "t/h", 0.0001259979 * 3.6, 1.8e-10),
]

# pint's own unit names, so that the table's pint expressions are not their own witness.
PINT_NAMES = [
    ("'", "m", "foot", "meter"),
    ('"', "m", "inch", "meter"),
    ("#", "kg", "pound", "kilogram"),
    ("HP", "kW", "horsepower", "kilowatt"),
    ("cv", "kW", "metric_horsepower", "kilowatt"),
    ("gallons", "L", "US_liquid_gallon", "liter"),
    ("UK gal", "L", "imperial_gallon", "liter"),
    ("bushels", "L", "US_dry_gallon * 8", "liter"),
    ("short tons", "kg", "short_ton", "kilogram"),
    ("long tons", "kg", "long_ton", "kilogram"),
    ("psi", "kPa", "pound_force_per_square_inch", "kilopascal"),
    ("mph", "km/h", "mile_per_hour", "kilometer_per_hour"),
    ("cu. yd.", "m3", "cubic_yard", "meter**3"),
    ("sq. ft.", "ha", "square_foot", "hectare"),
]


@pytest.mark.parametrize(("spelling", "to", "printed", "half_digit"), NIST)
def test_factor_is_nists(spelling, to, printed, half_digit):
    """Every conversion of the trade is the one NIST prints, to the last printed digit."""
    assert units.factor(spelling, to) == pytest.approx(printed, abs=half_digit + 1e-15 * printed, rel=0)


@pytest.mark.parametrize("measures", ["us", "imperial"])
def test_pint_derives_every_factor(measures):
    """Pint, asked for each unit with its own check of dimensions, finds the table's factor."""
    table = units._table(measures)
    for unit in set(table.values()):
        assert units.checked_factor(unit.symbol, unit.si_unit, measures=measures) == unit.factor


@pytest.mark.parametrize(("spelling", "to", "theirs", "their_to"), PINT_NAMES)
def test_factor_is_pints_by_its_own_names(spelling, to, theirs, their_to):
    """The factor of a spelling is that of the unit pint knows by name."""
    expected = units._registry().parse_expression(theirs).to(their_to).magnitude
    assert units.factor(spelling, to) == pytest.approx(expected, rel=1e-9)


def test_only_an_edited_table_asks_pint(monkeypatch):
    """The shipped table is the one that these tests hold against pint; after an edit pint is asked at every use."""
    assert units.is_held_against_pint()
    monkeypatch.setattr(units, "_registry", lambda: pytest.fail("pint was asked"))
    assert units.settled_factor("ft", "m") == 0.3048
    monkeypatch.undo()
    edited = {**units._table("us"), "ft": dataclasses.replace(units.find("ft"), factor=0.3)}
    monkeypatch.setattr(units, "_table", lambda measures: edited)
    monkeypatch.setattr(units, "is_held_against_pint", lambda: False)
    with pytest.raises(units.UnitDisagreement, match=r"is 0\.3 m here and 0\.3\d+ to pint"):
        units.settled_factor("ft", "m")


def test_checked_factor_refuses_a_wrong_constant(monkeypatch):
    """A factor that pint does not confirm is refused, with both numbers."""
    wrong = units.Unit("ft", "length", "m", 0.3084, "foot")
    table = {**units._table("us"), "ft": wrong}
    monkeypatch.setattr(units, "_table", lambda measures: table)
    with pytest.raises(units.UnitDisagreement, match=r"0\.3084 m here and 0\.304\d+ to pint"):
        units.checked_factor("ft", "m")


def test_checked_factor_refuses_a_wrong_dimension(monkeypatch):
    """A unit filed under the wrong dimension is refused by pint's check."""
    wrong = units.Unit("psi", "length", "m", 1.0, "force_pound / inch ** 2")
    table = {**units._table("us"), "psi": wrong}
    monkeypatch.setattr(units, "_table", lambda measures: table)
    with pytest.raises(units.UnitDisagreement, match="psi is no length to pint"):
        units.checked_factor("psi", "m")


@pytest.mark.parametrize(
    ("spelling", "symbol"),
    [
        ("HP", "hp"),
        ("lbs.", "lb"),
        ("#", "lb"),
        ("KW", "kW"),
        ("Cv", "PS"),
        ("l/min", "L/min"),
        ("litres per minute", "L/min"),
        ("Sq. Ft.", "sq ft"),
        ("kmh", "km/h"),
        ("tons per acre", "ton/ac"),
        ("°", "deg"),
        ("metric tons", "t"),
    ],
)
def test_trade_spellings_fold(spelling, symbol):
    """Case, dots and spacing do not matter."""
    assert units.find(spelling).symbol == symbol


def test_gallon_and_ton_follow_the_measures():
    """A bare gallon or ton is the one of the file's measures, and a named one is always itself."""
    assert units.factor("gal", "L") == 3.785411784
    assert units.factor("gal", "L", measures="imperial") == 4.54609
    assert units.factor("ton", "kg") == 907.18474
    assert units.factor("ton", "kg", measures="imperial") == 1016.0469088
    assert units.factor("US gal", "L", measures="imperial") == 3.785411784


def test_unknown_unit_names_near_misses():
    """A misspelt unit is refused with the unit that was probably meant."""
    with pytest.raises(units.UnknownUnit, match=r"'hpp' is not known; did you mean hp\?"):
        units.factor("hpp", "kW")


def test_wrong_dimension_says_what_would_do():
    """A mass where power belongs is refused with the units of power."""
    with pytest.raises(units.WrongDimension, match="kg measures mass, not power; use kW, W, hp, PS"):
        units.factor("kg", "kW")


@pytest.mark.parametrize(
    "unit", ["m", "ha", "kg", "kW", "km/h", "L", "m3", "L/min", "kPa", "h", "rpm", "t/h", "t/ha", "1"]
)
def test_every_nomenclature_unit_is_its_own(unit):
    """A nomenclature unit converts to itself without a rounding, and has a unit to print for a US reader."""
    assert units.factor(unit, unit) == 1.0
    symbol, factor = units.us(unit)
    assert units.factor(symbol, unit) * factor == pytest.approx(1.0, rel=1e-15)


def test_us_prints_small_lengths_in_inches():
    """Widths are spoken of in feet and stems in inches."""
    assert units.us("m", field="working_width_m") == ("ft", 1 / 0.3048)
    assert units.us("m", field="stem_m") == ("in", 1 / 0.0254)


def test_factor_needs_no_pint():
    """Factors are read without importing pint."""
    code = "import sys; from evener.schema import units; units.factor('hp', 'kW'); sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
