"""What to ask next where the surest decides: chances, picks by answer, order."""

from dataclasses import replace
from functools import partial
from importlib import resources

import answers
import pytest

from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema import records
from evener.schema.records import Choice, Place, Policy, Quantity, Task
from evener.scoring.core.draws import Draws
from evener.scoring.core.otherwise import with_task
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions import asking as questions
from evener.scoring.questions.choosing import BySureness
from evener.scoring.questions.open_answers import open_answers

SURE = Policy(rule="sure")
JobSheet = partial(records.JobSheet, policy=SURE)


def exact(value):
    return Quantity(value, value, "exact")


def between(low, high):
    return Quantity(low, high, "range", f"{low} to {high}")


CUT = Task("cut", "rotary_cutter", width_m=exact(2.1336), stem_m=between(0.0254, 0.0762))
FEED = Task(
    "feed",
    "bale_spear",
    bale_width_m=exact(1.22),
    bale_diameter_m=exact(1.52),
    stack_high=between(1.0, 2.0),
    machine_mass_kg=exact(110.0),
)
PLAN = Task("bale later", "round_baler", "round-baler-12", planned=True, chance=0.3)
PLACE = Place("a place", slope=exact(0.06))


@pytest.fixture(scope="module")
def ridge(library, classes):
    """The demo sheet."""
    words = Vocabulary.of(
        library.families.values(),
        implements={one.implement_id: one.family for one in library.implements.values()},
        tractors={one.tractor_id for one in classes},
    )
    text = resources.files("evener.demo_db").joinpath("jobs", "ridge.toml").read_text(encoding="utf-8")
    return replace(read_jobsheet_text(text, words)[0], policy=SURE)


@pytest.fixture(scope="module")
def asked(ridge, library, classes):
    """What is asked of the demo sheet."""
    return questions.ask(ridge, library, classes)


def by_id(answer):
    return {one["id"]: one for one in answer["questions"]}


def test_the_first_questions_at_the_ridge_are_ones_that_a_measure_settles(asked):
    """On the demo sheet, after who does what, a tape and a scale come first; their answers lead to different picks."""
    first, second = [one for one in asked["questions"] if one["how"] != "yes or no"][:2]
    assert {first["how"], second["how"]} == {"tape", "scale"}
    for one in (first, second):
        assert one["chance_changes_pick"] > 0.05
        assert len({part["pick"] for part in one["picks"]}) >= 2


def test_shares_sum_to_one_and_chances_are_of_parts(asked):
    """The parts of every answer sum to one, and the chance is the share of those with another pick."""
    for one in asked["questions"]:
        assert sum(part["share"] for part in one["picks"]) == pytest.approx(1.0)
        other = sum(part["share"] for part in one["picks"] if part["pick"] != asked["pick"])
        assert one["chance_changes_pick"] == pytest.approx(other)


def test_order_is_by_the_chance(asked):
    """The likeliest to change the pick comes first."""
    chances = [one["chance_changes_pick"] for one in asked["questions"]]
    assert chances == sorted(chances, reverse=True)


@pytest.mark.ci
def test_the_pick_by_answer_is_the_pick_of_the_sheet_with_that_answer(library, classes):
    """Ranking the sheet with an answer in it gives the pick the question gave for that answer, or one of its size."""
    sizing = size_job(JobSheet(PLACE, (CUT, FEED)), library)
    found = BySureness(sizing, sizing.score(classes, classes))
    powers = {one.tractor_id: one.pto_power_kw for one in classes}
    for one in open_answers(sizing, "si"):
        for part in one.parts:
            told = found.pick(part.job).tractor_id
            ranked = answers.rank(part.job, library, classes)["pick"]
            assert told == ranked or powers[told] == pytest.approx(powers[ranked], rel=0.03), part.text


def test_a_measured_answer_is_one_number_in_the_middle_of_its_part(library):
    """Each part of a range is settled at its middle, and words and everything else of the sheet stay as they are."""
    job = JobSheet(PLACE, (CUT,), policy=Policy(units="us"))
    [stems] = [one for one in open_answers(size_job(job, library), "us") if one.quantity == "max_stem_m"]
    settled = [part.job.tasks[0].stem_m for part in stems.parts]
    assert [one.low for one in settled] == pytest.approx([0.0254 * (1.125 + 0.25 * i) for i in range(8)])
    assert all(one.low == one.high for one in settled)
    assert all(replace(part.job.tasks[0], stem_m=CUT.stem_m) == CUT for part in stems.parts)


@pytest.mark.ci
def test_an_answer_that_asks_nothing_different_changes_nothing(library, classes):
    """A range no demand rests on has no chance to change the pick, however near the pick is to the edge."""
    task = replace(CUT, yield_t_ha=between(1.0, 9.0))
    for confidence in (0.80, 0.85, 0.90, 0.95):
        job = JobSheet(PLACE, (task, FEED), policy=Policy(rule="sure", confidence=confidence))
        assert by_id(questions.ask(job, library, classes))["cut.yield"]["chance_changes_pick"] == 0.0


@pytest.mark.ci
def test_tasks_in_another_order_ask_the_same(library, classes):
    """The order of the sheet changes no chance and no pick."""
    first = by_id(questions.ask(JobSheet(PLACE, (CUT, FEED, PLAN)), library, classes))
    second = by_id(questions.ask(JobSheet(PLACE, (PLAN, FEED, CUT)), library, classes))
    assert first.keys() == second.keys()
    for name, one in first.items():
        assert one["picks"] == second[name]["picks"]


@pytest.mark.ci
def test_units_change_the_words_and_nothing_else(asked, ridge, library, classes):
    """Asked in US units or in SI, chances and picks are the same."""
    si, us = asked, questions.ask(ridge, library, classes, units="us")
    for one, other in zip(si["questions"], us["questions"], strict=True):
        assert one["id"] == other["id"]
        assert [part["pick"] for part in one["picks"]] == [part["pick"] for part in other["picks"]]
        assert one["chance_changes_pick"] == other["chance_changes_pick"]
    for printed, unit in ((us, " in"), (si, " mm")):
        assert by_id(printed)["cut-back-the-scrub.stems"]["picks"][0]["answer"].endswith(unit)


def test_a_plan_is_a_yes_or_no_with_its_chance(library, classes):
    """A plan is asked as yes or no, weighted by its chance; the picks are those with it and without it."""
    job = JobSheet(PLACE, (replace(CUT, stem_m=exact(0.03)), PLAN))
    asked = by_id(questions.ask(job, library, classes))["bale-later.plan"]
    assert asked["how"] == "yes or no"
    assert [(part["answer"], part["share"]) for part in asked["picks"]] == [("yes", 0.3), ("no", 0.7)]
    sure = with_task(job, "bale later", planned=False, chance=1.0)
    assert asked["picks"][0]["pick"] == answers.rank(sure, library, classes)["pick"]
    never = replace(job, tasks=job.tasks[:1])
    assert asked["picks"][1]["pick"] == answers.rank(never, library, classes)["pick"]
    assert asked["picks"][0]["pick"] != asked["picks"][1]["pick"]


def test_choices_are_asked_word_by_word(library, classes):
    """Growth, pace, crop and soil that are left open are asked word by word; words with one pick are told as one."""
    job = JobSheet(
        replace(PLACE, soil=Choice(("firm", "soft"))),
        (replace(CUT, growth=Choice(("normal", "thick")), pace=Choice(("easy", "full"))), FEED),
    )
    asked = by_id(questions.ask(job, library, classes))
    answers = [part["answer"] for part in asked["cut.growth"]["picks"]]
    assert " or ".join(answers) == "normal or thick"
    assert len(answers) == len({part["pick"] for part in asked["cut.growth"]["picks"]})
    assert {"cut.pace", "place.soil"} <= asked.keys()


def test_a_question_mark_is_asked_with_what_stands_in(library, classes):
    """What is not known is asked, and the question says what was taken in its place."""
    task = replace(CUT, stem_m=Quantity(None, None, "unknown", "?"))
    asked = by_id(questions.ask(JobSheet(PLACE, (task,)), library, classes))["cut.stems"]
    assert asked["now"] == "not said, taken as 12 to 45 mm"


def test_no_pick_yet_is_a_pick_an_answer_can_bring(library, classes):
    """Where no size does the work, the answers that bring a pick count as changing it."""
    high = replace(FEED, stack_high=between(3.45, 5.4))
    answer = questions.ask(JobSheet(PLACE, (high,)), library, classes)
    assert answer["pick"] is None
    asked = by_id(answer)["feed.stack"]
    assert asked["picks"][0]["pick"] is not None
    assert 0 < asked["chance_changes_pick"] < 1


def test_what_cannot_be_sized_is_named_and_leaves_no_pick(library, classes):
    """A task that cannot be sized is named with what is missing, and the questions go by the tasks that can."""
    answer = questions.ask(
        JobSheet(PLACE, (CUT, Task("carry", "flat_wagon", bale_width_m=exact(1.2), bale_diameter_m=exact(1.5)))),
        library,
        classes,
    )
    assert (answer["pick"], answer["so_far"]["pick"] is None) == (None, False)
    assert [one["task"] for one in answer["not_sized"]] == ["carry"]
    assert by_id(answer)["cut.stems"]["chance_changes_pick"] > 0


def test_the_missing_number_of_a_shortlisted_tractor_is_asked(library, classes):
    """A unit that would be the pick if it lifted as its class does is asked about, and is no pick before that."""
    model = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    large = next(one for one in classes if one.tractor_id == "row-crop-105-4wd")
    bare = replace(model, tractor_id="S-1", kind="stock", loader_lift_kg=None, loader_height_m=None)
    other = replace(large, tractor_id="S-2", kind="stock")
    job = JobSheet(PLACE, (replace(CUT, stem_m=exact(0.03)), FEED))
    answer = questions.ask(job, library, [*classes, bare, other], among=("stock",))
    assert answer["pick"] == "S-2"
    asked = by_id(answer)["S-1.loader_lift"]
    assert "S-1" in {part["pick"] for part in asked["picks"]}
    assert asked["now"].startswith("not stated; its class has")
    assert "S-1.loader_height" not in by_id(answer)


@pytest.mark.ci
def test_ids_are_one_each(library, classes):
    """Two tasks whose names read alike in an id get ids of their own."""
    job = JobSheet(PLACE, (replace(CUT, name="Cut, top"), replace(CUT, name="cut top"), replace(CUT, name="place")))
    ids = [one["id"] for one in questions.ask(job, library, classes)["questions"]]
    assert len(ids) == len(set(ids))
    assert {"cut-top.stems", "cut-top-2.stems", "place-2.stems"} <= set(ids)


@pytest.mark.ci
def test_other_draws_give_the_same_pick_at_the_ridge(ridge, library, classes):
    """Where cost decides, three other sets of draws give a pick of the same size at the ridge, and like chances."""
    found = questions.ask(replace(ridge, policy=Policy()), library, classes, seeds=3)["stability"]
    assert (found["seeds"], found["pick_same"]) == (3, 3)
    assert all(high - low <= 0.25 for low, high in found["chances"].values())


def test_every_question_can_be_answered_in_the_sheet(library):
    """Every row of question.csv names a key the job sheet has, for the size it asks."""
    from evener.ingest.jobsheet.keys import keys_of
    from evener.scoring.place.sizes import SHEET_NAME

    for row in library.tables["question"]:
        name, field = row["quantity"], SHEET_NAME.get(row["quantity"], row["quantity"])
        if name == "plan":
            continue
        if row["family"] == "tractor":
            assert keys_of("tractor")[row["key"]].field == name
            continue
        section = "place" if name in {"altitude_m", "texture"} else "task"
        assert keys_of(section)[row["key"]].field == field, row


@pytest.mark.ci
def test_a_survey_takes_other_draws(library, classes):
    """Fewer draws give the same questions in the same words."""
    job = JobSheet(PLACE, (CUT, FEED))
    small = questions.survey(job, library, classes, draws=Draws(256))
    assert {one.id for one in small.questions} == {
        one["id"] for one in questions.ask(job, library, classes)["questions"]
    }
