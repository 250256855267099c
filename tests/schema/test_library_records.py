"""The shipped records against themselves: labels against columns, sizes against physics, ranges in order."""

import re
from collections import Counter
from itertools import pairwise

import pytest

from evener.schema import fields
from evener.schema.store import connection as store

LB, FT, IN, HP, GAL = 0.45359237, 0.3048, 0.0254, 0.74569987158227022, 3.785411784


@pytest.fixture(scope="module")
def implements(library_store):
    """All generic implement records."""
    with store.open_read(library_store) as con:
        return store.read_implements(con)


def label_number(pattern, label):
    """The number a label gives, or None."""
    found = re.search(pattern, label)
    return float(found[1].replace(",", "")) if found else None


def test_the_library_is_all_there(library_store, implements, classes):
    """22 classes and 491 records in 47 families, as the library states."""
    with store.open_read(library_store) as con:
        families = store.read_families(con)
    assert len(classes) == 22
    assert len(implements) == 491
    assert {implement.family for implement in implements} == set(families)
    assert len(families) == 47


def test_every_number_answers_where_it_comes_from(library_store):
    """Every row of every table cites a source the store holds, and says how it stands."""
    with store.open_read(library_store) as con:
        sources = {row["source_id"] for row in store.read_rows(con, "source")}
        for record in fields.loaded_records():
            for row in store.read_rows(con, record):
                assert row["source_id"] in sources, row
                assert row["status"] in {"published", "memory", "practice"}, row
                assert row["batch_id"], row
                assert row["file_row"], row


def test_labels_state_the_width_of_their_column(implements):
    """A width in a label is that of the column, within the rounding of metric widths (10 ft for 3 m)."""
    seen = 0
    for implement in implements:
        feet = label_number(r"(?<![x\d.])(\d+(?:\.\d+)?) ft\b", re.sub(r"[\d.]+x[\d.]+ ft", "", implement.label))
        if feet and implement.working_width_m:
            seen += 1
            assert implement.working_width_m / FT == pytest.approx(feet, rel=0.03), implement
    assert seen > 200


@pytest.mark.parametrize(
    ("pattern", "column", "unit"),
    [
        (r"(\d+) in stems", "max_stem_m", IN),
        (r"Post-hole auger (\d+) in", "auger_diameter_m", IN),
        (r"Wood chipper (\d+) in", "max_stem_m", IN),
        (r"([\d,]+) gal\b", "tank_l", GAL),
        (r"Spinner spreader ([\d,]+) lb", "payload_kg", LB),
        (r"Pallet fork, \w+, ([\d,]+) lb", "payload_kg", LB),
        (r"Loader bucket (\d+) in", "working_width_m", IN),
        (r"Tipping trailer ([\d.]+) ton", "payload_kg", 2000 * LB),
    ],
)
def test_labels_state_the_size_of_their_column(implements, pattern, column, unit):
    """A size in a label is that of its column."""
    stated = [(implement, label_number(pattern, implement.label)) for implement in implements]
    stated = [(implement, number) for implement, number in stated if number is not None]
    assert len(stated) >= 4
    for implement, number in stated:
        assert getattr(implement, column) == pytest.approx(number * unit, rel=1e-6), implement


def test_tanks_are_as_heavy_as_what_they_hold(implements):
    """A full sprayer holds water of 8.34 lb/gal; slurry is within 2 % of it (Penn State: 62 lb/ft3)."""
    tanks = [implement for implement in implements if implement.tank_l]
    assert len(tanks) == 31
    for implement in tanks:
        density = implement.payload_kg / implement.tank_l
        assert density == pytest.approx(0.993 if implement.family == "manure_spreader" else 0.9994, abs=0.005), (
            implement
        )


def test_round_bales_weigh_what_hay_does(implements):
    """A round bale's payload over its volume is that of dry hay, 140 to 230 kg/m3 (Alberta: 159 to 217)."""
    balers = [implement for implement in implements if implement.family == "round_baler"]
    assert len(balers) == 13
    for baler in balers:
        volume = 3.14159265 / 4 * baler.bale_diameter_m**2 * baler.bale_width_m
        assert 140 < baler.payload_kg / volume < 230, baler


def test_bale_sizes_are_those_of_the_label(implements):
    """Round bales read width x diameter in feet, squares height x width; small squares are in inches."""
    for implement in implements:
        found = re.search(r"([\d.]+)x([\d.]+) (ft|in)", implement.label)
        if not found or not implement.bale_width_m:
            continue
        first, second = (float(found[place]) * (FT if found[3] == "ft" else IN) for place in (1, 2))
        if implement.bale_diameter_m:
            stated = (implement.bale_width_m, implement.bale_diameter_m)
        else:
            stated = (implement.bale_height_m, implement.bale_width_m)
        assert stated == pytest.approx((first, second)), implement


def test_each_implement_has_one_rating(implements):
    """A record asks PTO power or tractor power, never both and never neither; PTO ratings name a speed."""
    for implement in implements:
        assert (implement.rated_pto_power_kw is None) != (implement.rated_tractor_power_kw is None), implement
        assert (implement.max_pto_power_kw is None) == (implement.rated_pto_power_kw is None), implement
        assert implement.pto_speeds_rpm or implement.rated_pto_power_kw is None, implement


def test_what_is_carried_says_where_its_mass_is(implements):
    """Machines on a three-point linkage have a category, and those wholly carried a centre of mass; others neither."""
    for implement in implements:
        carried = implement.attachment in ("mounted", "front_mounted")
        assert (implement.centre_of_mass_m is not None) == carried, implement
        assert (implement.hitch_category_min is not None) == (carried or implement.attachment == "semi_mounted"), (
            implement
        )


def test_oil_comes_through_a_remote(implements):
    """Whatever needs oil flow needs a remote outlet."""
    assert all(implement.remotes_needed for implement in implements if implement.hydraulic_flow_l_min)


def test_duty_is_that_of_the_label(implements):
    """A label that calls itself light or heavy has that duty; "light material" speaks of the load."""
    for implement in implements:
        for word in ("light", "heavy"):
            if re.search(rf"\b{word}\b(?! material| tines)", implement.label):
                assert implement.duty == word, implement


def test_wider_is_never_lighter_or_easier_within_a_build(implements):
    """Among rotary cutters of one stem class and attachment, a wider one weighs and asks more."""
    cutters = [implement for implement in implements if implement.family == "rotary_cutter"]
    groups = Counter((cutter.max_stem_m, cutter.attachment) for cutter in cutters)
    assert sum(count > 1 for count in groups.values()) >= 5
    for stem, attachment in groups:
        line = sorted(
            (one for one in cutters if (one.max_stem_m, one.attachment) == (stem, attachment)),
            key=lambda one: one.working_width_m,
        )
        for narrow, wide in pairwise(line):
            assert wide.mass_kg > narrow.mass_kg, (narrow, wide)
            assert wide.rated_pto_power_kw >= narrow.rated_pto_power_kw, (narrow, wide)


def test_classes_are_what_they_are_called(classes):
    """A class's label states its PTO power and drive, and its engine gives more than the PTO passes on."""
    for tractor in classes:
        assert tractor.pto_power_kw / HP == pytest.approx(label_number(r"(\d+) PTO hp", tractor.label)), tractor
        if tractor.drive in ("2wd", "4wd"):
            assert tractor.drive in tractor.label.casefold(), tractor
        low, high = (0.75, 0.86) if tractor.transmission == "hydrostatic" else (0.80, 0.87)
        assert low < tractor.pto_power_kw / tractor.engine_power_kw < high, tractor


def test_classes_stand_on_their_axles(classes):
    """Both axles together may carry the permitted mass, and the front one its share of the unladen tractor."""
    for tractor in classes:
        assert tractor.mass_kg < tractor.max_mass_kg, tractor
        if tractor.front_axle_max_kg is not None:
            assert tractor.front_axle_max_kg + tractor.rear_axle_max_kg >= tractor.max_mass_kg, tractor
            assert tractor.front_mass_share * tractor.mass_kg < tractor.front_axle_max_kg, tractor


def test_classes_are_as_wide_as_their_wheels(classes):
    """Track and one tyre make the overall width, within an inch; the link ends lift more than a point behind."""
    for tractor in classes:
        wheels = tractor.track_width_m + tractor.rear_tyre_width_m
        assert wheels == pytest.approx(tractor.overall_width_m, abs=IN), tractor
        assert tractor.hitch_lift_ends_kg > tractor.hitch_lift_610_kg, tractor
