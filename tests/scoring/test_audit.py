"""The audit as an analyst gets it: what is flagged, on what evidence, and what is not."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from evener.schema import units
from evener.schema.certainty import Certainty
from evener.schema.records import Family, Implement, Verdict
from evener.scoring.audit.auditing import audit
from evener.scoring.audit.flags import KINDS, UnitSlip
from evener.scoring.audit.groups import NoSuchGroup
from evener.scoring.ratings import verdicts as read_verdicts

HP = units.factor("hp", "kW")

GUESSED = Certainty("estimated", basis="engine")


def family(name="disc_mower", *, row="mower|disk", first="working_width_m", second=None):
    """Return a family with only what an audit needs."""
    return Family(name, name, (), "g", "pto", row, first, second, *(None,) * 8, source_id="s", status="invented")


def mowers(n=40, seed=0, scatter=0.06, name="disc_mower"):
    """Return invented mowers of 17 kW and 300 kg per metre with a lognormal scatter."""
    rng = np.random.default_rng(seed)
    width = rng.uniform(1.5, 6.0, n)
    power, mass = (level * width * np.exp(rng.normal(0, scatter, n)) for level in (17.0, 300.0))
    return [
        Implement(f"M{i:02d}", name, f"Mower {i}", working_width_m=w, rated_pto_power_kw=p, mass_kg=m)
        for i, (w, p, m) in enumerate(zip(width.tolist(), power.tolist(), mass.tolist(), strict=True))
    ]


def changed(records, position, **values):
    """Return the records with one of them changed."""
    return [replace(one, **values) if i == position else one for i, one in enumerate(records)]


def flags(report, kind):
    """Return the flags of one kind by record."""
    return {flag.implement_id: flag for flag in report.flags if flag.kind == kind}


@pytest.fixture
def tables(library):
    """The shipped published tables."""
    return library.tables


def test_a_sound_family_has_no_flags(tables):
    """Forty mowers that scatter by 6 % about 17 kW per metre are not accused of anything."""
    report = audit(mowers(), [family()], tables)
    assert report.flags == ()
    (one,) = report.families
    assert one.fitted.model.form == "proportional"
    assert one.fitted.line.slope == pytest.approx(17.0, rel=0.03)
    assert one.fitted.spread_kw == pytest.approx(0.06 * 17 * np.median([m.working_width_m for m in mowers()]), rel=0.3)


@pytest.mark.parametrize(
    ("column", "read_as", "meant"),
    [
        ("rated_pto_power_kw", "hp", "kW"),
        ("rated_pto_power_kw", "kW", "hp"),
        ("working_width_m", "ft", "m"),
        ("working_width_m", "m", "ft"),
        ("mass_kg", "kg", "lb"),
        ("mass_kg", "lb", "kg"),
    ],
)
def test_a_value_in_another_unit_is_named_with_the_value_meant(tables, column, read_as, meant):
    """A number typed under the wrong unit is found, its units are named, and the true value is given back."""
    records = changed(mowers(scatter=0.03), 11, working_width_m=3.0, rated_pto_power_kw=51.0, mass_kg=900.0)
    true = getattr(records[11], column)
    wrong = true * units.factor(read_as, meant)
    report = audit(changed(records, 11, **{column: wrong}), [family()], tables)
    slip = flags(report, "unit_slip")["M11"]
    assert (slip.column, slip.read_as, slip.meant) == (column, read_as, meant)
    assert slip.corrected == pytest.approx(true)
    assert slip.times_better > 100
    assert slip.strength > 0.5
    assert "M11" in flags(report, "far_from_peers")


def test_a_slip_speaks_in_the_reader_s_units(tables):
    """The number as typed stands in the evidence, and the stated value in the reader's units."""
    wrong = {"rated_pto_power_kw": 40.0 * HP, "working_width_m": 40.0 / 17, "mass_kg": 300 * 40.0 / 17}
    report = audit(changed(mowers(scatter=0.03), 11, **wrong), [family()], tables)
    slip = flags(report, "unit_slip")["M11"]
    assert slip.evidence("us").startswith("rated PTO power 40 hp was probably meant as 40 kW")
    assert slip.evidence("si").startswith("rated PTO power 30 kW was probably meant as 40 kW")


@pytest.mark.parametrize("ratio", [1.55, 1.7, 0.6])
def test_a_deviation_that_no_slip_explains_is_not_called_one(tables, ratio):
    """A rating off by a factor that belongs to no pair of units is far from its peers, and no more is said."""
    records = mowers()
    records = changed(records, 11, rated_pto_power_kw=17.0 * records[11].working_width_m * ratio)
    report = audit(records, [family()], tables)
    assert set(flags(report, "far_from_peers")) == {"M11"}
    assert not {"unit_slip", "engine_given_as_pto"} & {flag.kind for flag in report.flags}


def test_metric_horsepower_is_tested_but_too_close_to_tell(tables):
    """A metric horsepower read as a horsepower (1.4 %) stays unflagged, as it must in ratings that scatter by 6 %."""
    records = mowers()
    records = changed(records, 5, rated_pto_power_kw=records[5].rated_pto_power_kw * units.factor("hp", "PS"))
    assert audit(records, [family()], tables).flags == ()


def test_engine_power_is_told_by_the_peers(tables):
    """In a family that scatters by 2 % a rating 20 % high is explained as engine power, with the published ratio."""
    records = mowers(scatter=0.02)
    records = changed(records, 7, rated_pto_power_kw=records[7].rated_pto_power_kw / 0.83)
    flag = flags(audit(records, [family()], tables), "engine_given_as_pto")["M07"]
    assert flag.ratio == pytest.approx(0.83)
    assert "gross flywheel" in flag.evidence()


def test_engine_power_is_told_by_the_record_itself(tables):
    """A PTO rating equal to the whole tractor's power, or spoken of as engine power, is flagged whatever its peers."""
    records = changed(mowers(), 3, rated_tractor_power_kw=mowers()[3].rated_pto_power_kw)
    records = changed(records, 4, note="needs 75 engine hp")
    records = changed(records, 5, rated_tractor_power_kw=2 * mowers()[5].rated_pto_power_kw, note="own engine")
    assert set(flags(audit(records, [family()], tables), "engine_given_as_pto")) == {"M03", "M04"}


def test_a_rating_below_the_shaft_s_average_is_impossible(tables):
    """A disc mower rated at 4 kW per metre, under the published 5, is flagged with the average and its source."""
    records = changed(mowers(), 9, rated_pto_power_kw=8.0, working_width_m=2.0)
    flag = flags(audit(records, [family()], tables), "below_shaft_power")["M09"]
    assert flag.average_kw == pytest.approx(10.0)
    assert flag.strength == pytest.approx(0.91, abs=0.01)  # z = (10 - 8) / 1.5, the printed 30 % being two deviations
    assert "D497" in flag.evidence()


def test_a_rating_far_above_the_published_band(tables):
    """A drum mower beyond 1.5 times the published 15 kW per metre is flagged; at 1.2 times it is not."""
    records = [replace(one, family="drum_mower", rated_pto_power_kw=one.rated_pto_power_kw * 0.6) for one in mowers()]
    records = changed(records, 1, rated_pto_power_kw=18.0 * records[1].working_width_m)
    records = changed(records, 2, rated_pto_power_kw=24.0 * records[2].working_width_m)
    report = audit(records, [family("drum_mower", row="mower|drum")], tables)
    assert set(flags(report, "far_above_published")) == {"M02"}
    assert flags(report, "power_per_width") == {}


def test_power_per_width_is_held_against_the_band_of_its_stems(tables):
    """A rotary cutter of 26 kW per metre is outside the band for 75 mm stems, and that band is in the evidence."""
    cutter = Implement("C", "rotary_cutter", "x", working_width_m=2.0, max_stem_m=0.076, rated_pto_power_kw=52.0)
    thick = replace(cutter, implement_id="D", max_stem_m=0.152)
    edge = replace(cutter, implement_id="E", max_stem_m=0.065, rated_pto_power_kw=15.0)
    kind = family("rotary_cutter", row=None, second="max_stem_m")
    found = flags(audit([cutter, thick, edge], [kind], tables), "power_per_width")
    assert set(found) == {"C", "E"}
    assert (found["E"].low_kw_m, found["E"].high_kw_m) == (9.8, 12.2)
    assert (found["C"].low_kw_m, found["C"].high_kw_m) == (15.3, 18.6)
    assert found["C"].evidence("us").startswith("10.6 hp per ft")


def test_figures_for_the_whole_tractor_are_no_band_for_pto_power(tables):
    """A published figure that speaks of tractor power is left out, even where it is named as a family's band."""
    rows = [dict(row, power_point="tractor") for row in tables["rotary_power"]]
    records = [Implement("C", "finish_mower", "x", working_width_m=2.0, rated_pto_power_kw=90.0)]
    kind = family("finish_mower", row=None)
    assert flags(audit(records, [kind], tables), "far_above_published")
    assert audit(records, [kind], {**tables, "rotary_power": rows}).flags == ()


def test_one_machine_with_two_ratings(tables):
    """Two records of one label, build and size with ratings 25 % apart name each other; a rounded twin does not."""
    records = mowers()
    twin = replace(records[0], implement_id="T1", rated_pto_power_kw=records[0].rated_pto_power_kw * 1.25)
    rounded = replace(records[1], implement_id="T2", rated_pto_power_kw=records[1].rated_pto_power_kw * 1.005)
    found = flags(audit([*records, twin, rounded], [family()], tables), "two_ratings")
    assert set(found) == {"M00", "T1"}
    assert found["M00"].others[0][0] == "T1"
    assert found["M00"].strength == pytest.approx(0.95)


def test_a_kind_and_a_size_are_no_name_of_a_machine(tables):
    """Records of one kind and size are not one machine for it, nor are two of one label that weigh unlike."""
    one = mowers()[0]
    plain = [
        replace(one, implement_id=name, label="Disc mowers 8 ft", rated_pto_power_kw=p)
        for name, p in (("A", 20), ("B", 25))
    ]
    heavier = replace(one, implement_id="C", rated_pto_power_kw=25.0, mass_kg=one.mass_kg * 1.2)
    report = audit([*mowers(), *plain, heavier], [replace(family(), label="Disc mower")], tables)
    assert not flags(report, "two_ratings")


def test_a_record_that_moves_the_line_alone_is_influential(tables):
    """A machine three times as wide as its peers, 20 % off a bent line, is shown with the line with and without it."""
    bent = [replace(one, rated_pto_power_kw=one.rated_pto_power_kw * one.working_width_m**0.8) for one in mowers(12)]
    records = changed(bent, 4, working_width_m=18.0, rated_pto_power_kw=0.8 * 17 * 18**1.8, mass_kg=None)
    report = audit(records, [family(row=None)], tables)
    flag = flags(report, "influential")["M04"]
    (one,) = report.families
    (kept,) = [record for record in one.records() if record.implement_id == "M04"]
    assert flag.distance == pytest.approx(kept.line_shift)
    assert flag.fitted_kw < flag.without_kw


def test_a_machine_of_another_family_is_named_with_it(tables):
    """A rake filed under disc mowers is far from them, and fits the rakes by power and by mass."""
    rakes = [replace(one, implement_id=f"K{one.implement_id}", family="rake") for one in mowers(seed=5)]
    rakes = [replace(one, rated_pto_power_kw=one.rated_pto_power_kw / 3.1, mass_kg=one.mass_kg / 2.7) for one in rakes]
    strayed = replace(rakes[7], family="disc_mower")
    report = audit([*mowers(), *rakes[:7], *rakes[8:], strayed], [family(row=None), family("rake", row=None)], tables)
    flag = flags(report, "other_family")["KM07"]
    assert flag.family == "rake"
    assert flag.expected_kw == pytest.approx(strayed.rated_pto_power_kw, rel=0.2)
    assert "fits the rake machines" in flag.evidence()


def test_a_maker_at_three_quarters_is_found_as_a_group_and_looks_like_a_slip(tables):
    """One maker of eight at -25 %: named by --by maker; the sentence says that a kilowatt file would look the same."""
    rng = np.random.default_rng(6)
    records = [replace(one, maker=f"maker {k}") for one, k in zip(mowers(200), rng.integers(0, 8, 200), strict=True)]
    records = [
        replace(one, rated_pto_power_kw=0.75 * one.rated_pto_power_kw) if one.maker == "maker 3" else one
        for one in records
    ]
    report = audit(records, [family(row=None)], tables, by=("maker", "duty"))
    (found,) = report.groups
    assert (found.by, found.group, found.column) == ("maker", "maker 3", "rated_pto_power_kw")
    assert found.low < 0.75 < found.high
    assert "(0.746 and 0.7" in found.evidence()
    assert "a dated test or one plate decides" in found.evidence()
    assert not [flag for flag in report.flags if flag.kind == "far_from_peers"]


def test_records_are_grouped_by_any_field_of_words_and_by_nothing_else(tables):
    """Batch, build and text fields are groups; a measure or an unknown word is refused, with what is allowed."""
    records = mowers()
    for by in ("batch", "build", "duty", "owner", "maker", "model_year", "source_id"):
        assert audit(records, [family()], tables, by=(by,)).groups == ()
    for by in ("mass_kg", "colour"):
        with pytest.raises(NoSuchGroup, match="use batch, maker"):
            audit(records, [family()], tables, by=(by,))


def test_an_analysts_word_is_obeyed(tables):
    """Left out, a wrong record is no longer accused; vouched for, it is not accused either; corrected, it fits."""
    records = changed(mowers(), 11, rated_pto_power_kw=500.0)
    plain = audit(records, [family(row=None)], tables)
    assert "M11" in flags(plain, "far_from_peers")
    word = Verdict("M11", None, "sound", None, "weighed", "A. Nalyst", "2026-01-01")
    kinds = [word, replace(word, verdict="left_out")]
    kinds.append(replace(word, verdict="corrected", set_field="rated_pto_power_kw", set_value=str(17 * 2.5)))
    kinds[2] = replace(kinds[2], set_value=str(17.0 * records[11].working_width_m))
    for one in kinds:
        report = audit(records, [family(row=None)], tables, verdicts=read_verdicts.read([one]))
        assert report.flags == ()
        aside = {record.record for record in report.families[0].fitted.model.aside}
        assert aside == ({"M11"} if one.verdict == "left_out" else set())


def test_few_records_and_families_without_ratings_say_so(tables):
    """A family with too few records, or none with a PTO power, has no line and says why; its rules still apply."""
    few = changed(mowers(4), 0, rated_pto_power_kw=1.0)
    report = audit(few, [family(), family("plow"), family("generator", first=None)], tables)
    reasons = {one.family: one.reason for one in report.families}
    assert reasons["disc_mower"] == "4 records state a rated PTO power and a size; a line with its scatter needs 5"
    assert reasons["plow"] == "no record states a PTO power of its own"
    assert set(flags(report, "below_shaft_power")) == {"M00"}
    assert all(one.as_dict()["model"] is None for one in report.families)


def test_machines_of_one_width_are_still_measured(tables):
    """A family of a single width has no slope of its own, yet the one that is rated double stands out."""
    records = [replace(one, working_width_m=3.0, rated_pto_power_kw=50 + i % 5) for i, one in enumerate(mowers(20))]
    report = audit(changed(records, 6, rated_pto_power_kw=105.0), [family(row=None)], tables)
    assert "M06" in flags(report, "far_from_peers")
    assert report.families[0].as_dict()["ordinary"] is None


def test_tractor_power_never_stands_for_pto_power(tables):
    """Records rated for the whole tractor only, or with an estimated PTO power, are no peers."""
    others = [
        Implement("X1", "disc_mower", "x", working_width_m=2.0, rated_tractor_power_kw=90.0),
        replace(mowers()[0], implement_id="X2", rated_pto_power_kw=900.0, estimated={"rated_pto_power_kw": GUESSED}),
    ]
    assert audit([*mowers(), *others], [family()], tables).as_dict() == audit(mowers(), [family()], tables).as_dict()


def test_order_of_records_and_families_does_not_matter(tables):
    """The same records in another order give the same flags, family by family."""
    records = changed(mowers(), 11, mass_kg=2000.0) + mowers(name="drum_mower", seed=3)
    kinds = [family(), family("drum_mower", row="mower|drum")]
    forward, backward = audit(records, kinds, tables), audit(records[::-1], kinds[::-1], tables)
    for one, other in zip(forward.families, backward.families[::-1], strict=True):
        assert one.as_dict()["flags"] == other.as_dict()["flags"]
        assert one.fitted.line == pytest.approx(other.fitted.line, rel=1e-9)


@pytest.mark.ci
def test_the_answer_is_the_contract_s_and_plain_json(library, library_report):
    """The shipped library's audit has the documented keys, holds no NaN or infinity, and names only its own records."""
    answer = library_report.as_dict()
    text = json.dumps(answer, allow_nan=False)
    assert json.loads(text) == answer
    for one in answer["families"]:
        assert {"family", "n", "model", "slope_kw_per_m", "intercept_kw", "spread_kw", "flags"} <= set(one)
        for flag in one["flags"]:
            assert set(flag) == {"implement_id", "kind", "evidence", "strength", "label", "batch_id", "file_row"}
            assert flag["label"] == library.implements[flag["implement_id"]].label
            assert flag["kind"] in KINDS
            assert 0 <= flag["strength"] <= 1
            assert flag["evidence"]


def test_what_stands_off_in_the_library_is_of_another_build(library, library_report):
    """The shipped records far from their peers are a stalk shredder, the least spreader, a slurry tank and the like."""
    assert set(flags(library_report, "far_from_peers")) <= {
        "feed-mixer-09",
        "manure-spreader-10",
        "flail-mower-11",
        "spreader-spinner-01",
        "tedder-06",
    }
    assert "feed-mixer-09" in flags(library_report, "far_from_peers")
    assert "less power than vertical augers" in library.implements["feed-mixer-09"].note


def test_intervals_hold_the_records_and_widen_with_distance(tables):
    """The interval of single machines holds about 95 of 100 records, contains that of the line, and widens outward."""
    report = audit(mowers(200), [family()], tables)
    (one,) = report.families
    rows = list(one.records())
    assert len(rows) == 200
    inside = sum(row.low_kw <= row.rated_kw <= row.high_kw for row in rows)
    assert inside / 200 == pytest.approx(0.95, abs=3 * math.sqrt(0.95 * 0.05 / 200))
    at = np.array([2.0, 6.0, 20.0])
    _, low, high = one.interval(at)
    _, line_low, line_high = one.interval(at, of_one=False)
    assert (low < line_low).all()
    assert (line_high < high).all()
    assert (np.diff(high - low) > 0).all()


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_kind_of_flag_explains_itself(kind):
    """Each kind has a name, a title, a reason and says what its strength measures."""
    assert kind.kind
    assert all((kind.title, kind.why, kind.measure))


def test_sizes_derived_from_several_columns_are_spoken_of_as_sizes():
    """A slip in a bale's measures names the unit, though the volume itself has no column."""
    slip = UnitSlip("R", 0.9, "bale_volume_m3", "m", "ft", 50.0, 1.4, 1e9)
    assert slip.evidence() == ("bale volume sizes in ft read as m, which fits its peers; as it stands it hardly does")
