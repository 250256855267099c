"""A customer's answer put into a job sheet."""

import pytest

from evener.ingest.jobsheet.answers import AnswerRefused, answer_place, answer_task, answer_tractor, check_value
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.certainty import estimated
from evener.schema.records import Tractor

WORDS = Vocabulary(
    {"rotary_cutter": ("Rotary cutter",), "bale_spear": ("Bale spear",)},
    implements={"rotary-cutter-11": "rotary_cutter"},
)
SHEET = """
[place]
name = "Somewhere"
slope = "5 to 8 %"
soil = "firm or soft"
[[task]]
name = "Cut"
family = "rotary cutter"
width = "7 ft"
stems = "1 to 3 in"
growth = "normal or thick"
[[task]]
name = "Feed"
family = "bale spear"
bale = "4x5 to 5x6 ft"
[[task]]
name = "Later"
implement = "rotary-cutter-11"
when = "planned"
chance = "40 %"
[[tractor]]
label = "old one"
takes = ["Later", "Feed"]
"""


@pytest.fixture
def job():
    """A sheet with several things open."""
    found, findings = read_jobsheet_text(SHEET, WORDS)
    assert findings == []
    return found


def task(job, name):
    return next(one for one in job.tasks if one.name == name)


def test_a_measure_is_read_as_the_sheet_reads_it(job):
    """An answer in inches is kept in metres with its words, and nothing else of the task changes."""
    found = task(answer_task(job, "Cut", "stems", "2 1/2 in", WORDS), "Cut")
    assert (found.stem_m.low, found.stem_m.high, found.stem_m.given) == (0.0635, 0.0635, "exact")
    assert found.stem_m.text == "2 1/2 in"
    assert (found.width_m, found.growth) == (task(job, "Cut").width_m, task(job, "Cut").growth)


def test_a_word_settles_a_choice(job):
    """A word of the list settles a choice of a task or of the place."""
    assert task(answer_task(job, "Cut", "growth", "heavy", WORDS), "Cut").growth.settled == "thick"
    assert answer_place(job, "soil", "soft", WORDS).place.soil.settled == "soft"
    assert answer_place(job, "slope", "1 in 10", WORDS).place.slope.low == pytest.approx(0.1)


def test_one_length_of_a_bale_leaves_the_other_open(job):
    """Measuring a bale's diameter leaves its width the range it was."""
    found = task(answer_task(job, "Feed", "bale_diameter", "5 ft", WORDS), "Feed")
    assert found.bale_diameter_m.given == "exact"
    assert (found.bale_width_m.low, found.bale_width_m.high) == pytest.approx((1.2192, 1.524))


def test_a_whole_bale_settles_both(job):
    """A bale's size in one text settles both its lengths."""
    found = task(answer_task(job, "Feed", "bale", "4x5 ft", WORDS), "Feed")
    assert (found.bale_width_m.low, found.bale_diameter_m.low) == pytest.approx((1.2192, 1.524))


def test_a_plan_comes_or_never(job):
    """Yes makes a plan a task of today; no takes it off the sheet and off the machines' lists."""
    assert not task(answer_task(job, "Later", "plan", "yes", WORDS), "Later").planned
    gone = answer_task(job, "Later", "plan", "No", WORDS)
    assert [one.name for one in gone.tasks] == ["Cut", "Feed"]
    assert gone.machines[0].takes == ("Feed",)
    assert task(answer_task(job, "Later", "chance", "60 %", WORDS), "Later").chance == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("name", "key", "said", "wrong"),
    [
        ("Cut", "stems", "2", "has no unit"),
        ("Cut", "stems", "90 ft", "out of bounds"),
        ("Cut", "stems", "2 kg", "measures mass"),
        ("Cut", "stms", "2 in", "no key"),
        ("Cut", "growth", "huge", "huge"),
        ("Cut", "plan", "yes", "not planned"),
        ("Later", "plan", "perhaps", "neither yes nor no"),
        ("Feed", "bale", "big", "no size of a bale"),
        ("Cut", "land", "pasture", "land"),
        ("Cut", "stems", 'x"\n[policy]', "is not a number"),
    ],
)
def test_what_the_sheet_cannot_hold_is_refused_with_a_remedy(job, name, key, said, wrong):
    """An answer the sheet cannot hold is refused, and the refusal says what to write."""
    with pytest.raises(AnswerRefused) as refused:
        answer_task(job, name, key, said, WORDS)
    assert wrong in refused.value.message
    assert refused.value.remedy


def test_a_number_looked_up_goes_into_the_tractors_record():
    """What a plate says replaces what was assumed; a range keeps its ends."""
    one = Tractor("S-1", "stock", "a tractor", estimated={"pto_power_kw": estimated("from the engine, +-8 %")})
    found = answer_tractor(one, "pto_power", "75 hp", WORDS)
    assert found.pto_power_kw == pytest.approx(55.927, abs=1e-3)
    assert found.estimated == {}
    spread = answer_tractor(one, "hitch_lift", "1000 to 1200 kg", WORDS)
    assert spread.hitch_lift_610_kg == 1100.0
    assert spread.estimated["hitch_lift_610_kg"].span(1100.0) == (1000.0, 1200.0)
    with pytest.raises(AnswerRefused):
        answer_tractor(one, "hitch_category", "2", WORDS)
    with pytest.raises(AnswerRefused):
        answer_tractor(one, "loader_lift", "?", WORDS)


@pytest.mark.parametrize(
    ("section", "key", "good", "bad"),
    [
        ("place", "slope", "hilly", "8"),
        ("place", "snow_days", "20 days", "400"),
        ("land", "area", "about 12 ha", "12 kg"),
        ("land", "use", "meadow", "swamp"),
        ("task", "tank", "400 L", "400 ft"),
        ("machine", "pto_power", "about 30 hp", "30"),
        ("policy", "units", "metric", "roman"),
    ],
)
def test_a_value_is_checked_before_there_is_a_sheet(section, key, good, bad):
    """A single value is taken or refused as the whole sheet would."""
    check_value(section, key, good, WORDS)
    with pytest.raises(AnswerRefused):
        check_value(section, key, bad, WORDS)
