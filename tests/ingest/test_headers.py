"""Headings into fields: spellings, units, bare powers, and hand-made choices."""

import pytest

from evener.ingest.columns.headers import Choice, match
from evener.ingest.columns.naming import doubles


def meaning(header, record="tractor", **options):
    """Field and unit of one heading, and the ids of what is wrong with it."""
    matches, noticed = match([header], record, **options)
    field = matches[0].field.name if matches and matches[0].field else None
    return field, matches[0].unit if matches else None, [finding.id for finding in noticed]


@pytest.mark.parametrize(
    ("header", "record", "field", "unit"),
    [
        ("Width (ft)", "implement", "working_width_m", "ft"),
        ("width, ft", "implement", "working_width_m", "ft"),
        ("width_ft", "implement", "working_width_m", "ft"),
        ("WIDTH IN FEET", "implement", "working_width_m", "FEET"),
        ("Working width [m]", "implement", "working_width_m", "m"),
        ("working_width_m", "implement", "working_width_m", "m"),
        ("Cutting width", "implement", "working_width_m", None),
        ("PTO HP", "tractor", "pto_power_kw", "HP"),
        ("engine kW", "tractor", "engine_power_kw", "kW"),
        ('Lift at 24" (lbs)', "tractor", "hitch_lift_610_kg", "lbs"),
        ("hitch_lift_at_24in_lb", "tractor", "hitch_lift_610_kg", "lb"),
        ("hitch lift 610 lb", "tractor", "hitch_lift_610_kg", "lb"),
        ("hydraulic_flow_l_min", "tractor", "hydraulic_flow_l_min", "L/min"),
        ("Hydraulic flow gal/min", "tractor", "hydraulic_flow_l_min", "gal/min"),
        ("Engine hours", "tractor", "meter_hours_h", "hours"),
        ("Stock #", "tractor", "tractor_id", None),
        ("Front mass share (%)", "tractor", "front_mass_share", "%"),
        ("Price ($)", "tractor", "price", "$"),
        ("PTO speeds (rpm)", "tractor", "pto_speeds_rpm", "rpm"),
        ("Drive (2WD/4WD)", "tractor", "drive", None),
        ("Tank gal", "implement", "tank_l", "gal"),
    ],
)
def test_headings_are_understood(header, record, field, unit):
    """A heading's words give the field and its brackets, comma or last word the unit, however it is written."""
    assert meaning(header, record) == (field, unit, [])


@pytest.mark.parametrize(
    "header",
    ["HP", "Power (hp)", "power", "Rated power, kW", "horsepower", "kW", "PS", "Rated HP", "Max. hp", "Net hp"],
)
@pytest.mark.parametrize("record", ["tractor", "implement"])
def test_a_bare_power_asks_which(header, record):
    """A power that is neither the engine's nor the shaft's is a finding that names the choice, never assumed."""
    field, _, noticed = meaning(header, record)
    assert (field, noticed) == (None, ["bare-power"])
    _, (finding,) = match([header], record)
    assert finding.refuses
    assert "PTO power" in finding.what_to_do


@pytest.mark.parametrize("kind", ["gross", "net"])
def test_the_kind_of_engine_power_is_read_from_the_heading(kind):
    """A heading that says gross or net says which engine power it is."""
    for header in (f"Engine power {kind} (hp)", f"{kind} engine power (hp)", f"{kind.title()} engine hp"):
        (one,), noticed = match([header], "tractor")
        assert one.field.name == "engine_power_kw"
        assert one.implies == {"engine_power_kind": kind}
        assert noticed == []


def test_an_unknown_column_is_reported_with_near_names():
    """A heading that means nothing is reported, does not refuse the file, and near misses are named."""
    _, (finding,) = match(["weigth (kg)"], "tractor")
    assert finding.id == "unknown-column"
    assert not finding.refuses
    assert "mass_kg" in finding.message


def test_a_unit_of_another_kind_is_refused():
    """A width in horsepower is a finding that names units that fit."""
    _, (finding,) = match(["Width (hp)"], "implement")
    assert finding.id == "wrong-header-unit"
    assert "ft" in finding.what_to_do
    _, (finding,) = match(["Width (furlongs)"], "implement")
    assert "not known" in finding.message


def test_two_columns_for_one_field_are_a_finding():
    """Two headings of one meaning, or the same heading twice, cannot both be loaded."""
    matches, noticed = match(["Weight (lb)", "Mass (kg)"], "tractor")
    assert noticed == []
    (finding,) = doubles(matches)
    assert (finding.id, finding.column) == ("double-column", "Mass (kg)")
    assert "Weight (lb)" in finding.message
    matches, _ = match(["Mass (kg)", "Mass (kg)"], "tractor")
    assert "double-column" in [finding.id for finding in doubles(matches)]


def test_a_choice_made_by_hand_goes_first():
    """A settled heading takes its field and unit from the choice, and one set to nothing is passed over in silence."""
    choices = {"HP": Choice("pto_power_kw", "hp"), "Colour": Choice(None)}
    matches, noticed = match(["HP", "Colour"], "tractor", choices)
    assert [(one.field.name if one.field else None, one.unit) for one in matches] == [
        ("pto_power_kw", "hp"),
        (None, None),
    ]
    assert noticed == []
    with pytest.raises(KeyError):
        match(["HP"], "tractor", {"HP": Choice("pto_power_hp")})
