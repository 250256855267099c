"""Whether the place adds up."""

from dataclasses import replace

import pytest

from evener.schema.records import JobSheet, LandUse, OwnedMachine, Place, Policy, Quantity, Task
from evener.scoring.questions import reconcile as rules
from evener.scoring.questions.reconcile import reconcile


def exact(value):
    return Quantity(value, value, "exact")


def place(*uses, **other):
    return Place("a place", land=tuple(LandUse(use, exact(4.0)) for use in uses), slope=exact(0.02), **other)


SPRAY = Task("spray", "mounted_sprayer", "mounted-sprayer-05")
CUT = Task("cut", "rotary_cutter", width_m=exact(1.8))
RAKE = Task("rake", "rotary_rake", width_m=exact(3.6))
MOW = Task("mow", "disc_mower", width_m=exact(2.4))
BALE = Task("bale", "round_baler", bale_width_m=exact(1.2), bale_diameter_m=exact(1.2))
STACK = Task("stack", "bale_spear", stack_high=exact(2.0))


def fired(library, job):
    return {one["rule"] for one in reconcile(job, library)}


@pytest.mark.parametrize(
    ("where", "tasks", "rule"),
    [
        (place("hay"), (), "hay_cut"),
        (place("silage"), (MOW,), "hay_raked"),
        (place("hay"), (MOW, RAKE), "hay_baled"),
        (place("hay"), (MOW, RAKE, BALE), "bale_lifted"),
        (place("hay"), (MOW, RAKE, BALE), "bale_stacked"),
        (place("pasture", animals={"cattle": 40}), (CUT,), "fed"),
        (place("pasture", animals={"horses": 4}), (CUT,), "bedded"),
        (place("pasture", animals={"pigs": 9}), (CUT,), "mucked_out"),
        (place("hedge"), (), "cleared"),
        (place("fence_line", "pasture"), (replace(CUT, land="pasture"),), "cleared"),
        (place("drive", snow_days=exact(10.0)), (), "snow_cleared"),
        (replace(place(), slope=exact(0.15)), (Task("haul", "tipping_trailer"),), "trailer_on_slope"),
        (place("orchard"), (replace(CUT, land="pasture"),), "land_unused"),
    ],
)
def test_each_rule_finds_what_it_is_for(library, where, tasks, rule):
    """What the place probably needs and no task names becomes a question with a chance between 0 and 1."""
    job = JobSheet(where, (SPRAY, *tasks))
    found = {one["rule"]: one for one in reconcile(job, library)}
    assert rule in found
    assert 0 < found[rule]["chance"] < 1
    assert "{" not in found[rule]["question"]


@pytest.mark.parametrize(
    ("where", "tasks", "rule"),
    [
        (place("hay"), (MOW,), "hay_cut"),
        (place("hay"), (RAKE,), "hay_raked"),
        (place("hay"), (BALE,), "hay_baled"),
        (place("hay"), (BALE, STACK), "bale_lifted"),
        (place("hay"), (BALE, STACK), "bale_stacked"),
        (place("pasture", animals={"cattle": 40}), (STACK,), "fed"),
        (place("pasture", animals={"poultry": 40}), (CUT,), "bedded"),
        (place("hedge"), (replace(CUT, land="hedge"),), "cleared"),
        (place("drive", snow_days=exact(0.0)), (), "snow_cleared"),
        (place("drive", snow_days=exact(9.0)), (Task("blow", "snow_blower"),), "snow_cleared"),
        (place(), (Task("haul", "tipping_trailer"),), "trailer_on_slope"),
        (place("orchard"), (replace(CUT, land="orchard"),), "land_unused"),
    ],
)
def test_no_rule_asks_what_a_task_covers(library, where, tasks, rule):
    """A rule is silent where its condition is not there or a task does the work."""
    assert rule not in fired(library, JobSheet(where, (SPRAY, *tasks)))


def test_an_implement_no_task_uses_is_asked_about(library):
    """A machine that takes no task and whose kind no task uses becomes a question; one in use does not."""
    job = JobSheet(
        place(),
        (SPRAY, CUT),
        machines=(
            OwnedMachine("the old disc", implement_id="disk-harrow-01"),
            OwnedMachine("cutter", implement_id="rotary-cutter-09"),
        ),
    )
    asked = [one["question"] for one in reconcile(job, library) if one["rule"] == "implement_unused"]
    assert asked == ['What is "the old disc" used for? No task names it.']


def test_work_named_twice_is_asked_about(library):
    """Two tasks with the same kind of implement on the same land are asked about; on other land they are not."""
    top = replace(CUT, name="top", land="pasture")
    again = replace(top, name="top again", implement_id="rotary-cutter-09")
    assert "named_twice" in fired(library, JobSheet(place("pasture"), (top, again)))
    assert "named_twice" not in fired(library, JobSheet(place("pasture"), (top, replace(again, land="scrub"))))
    feed = replace(STACK, name="feed", stack_high=exact(1.0))
    assert "named_twice" not in fired(library, JobSheet(place(), (STACK, feed)))


@pytest.mark.ci
def test_a_question_never_becomes_a_task(library, classes):
    """What the place asks changes no demand, and no pick where the surest decides: without its land it ranks alike."""
    import answers

    sure = Policy(rule="sure")
    full = JobSheet(place("hay", "hedge", animals={"cattle": 40}), (SPRAY, CUT), policy=sure)
    bare = JobSheet(place(), (SPRAY, CUT), policy=sure)
    one, other = (answers.rank(job, library, classes) for job in (full, bare))
    assert [{**row, "a_year": None, "fit": None} for row in one["tractors"]] == [
        {**row, "a_year": None, "fit": None} for row in other["tractors"]
    ]
    assert len(one["reconcile"]) > len(other["reconcile"])


@pytest.mark.ci
def test_the_pick_if_so_is_the_pick_with_the_implement_the_rule_names(library, classes):
    """`ask` says what the pick would be with the work a rule asks about."""
    import answers

    from evener.scoring.questions import asking as questions

    job = JobSheet(place("hay"), (SPRAY,), policy=Policy(rule="sure"))
    asked = {one["rule"]: one for one in questions.ask(job, library, classes)["reconcile"]}
    rule = next(row for row in library.tables["reconcile"] if row["rule"] == "hay_cut")
    with_it = replace(job, tasks=(SPRAY, rules.stand_in(rule)))
    assert asked["hay_cut"]["pick_if_so"] == answers.rank(with_it, library, classes)["pick"]


def test_every_rule_names_what_the_library_has(library):
    """Families, groups, land uses, animals and keys in the rules are words the sheet or the library knows."""
    from evener.ingest.jobsheet.words import usual

    groups = {family.group for family in library.families.values()}
    for row in library.tables["reconcile"]:
        assert set(row["land"] or ()) <= usual("land_use").keys()
        assert set(row["animals"] or ()) <= usual("animal").keys()
        for word in (*(row["tasks"] or ()), *(row["without"] or ())):
            known = hasattr(SPRAY, word.split(":")[0]) if ":" in word else word in groups | library.families.keys()
            assert known, (row["rule"], word)
        assert row["family"] is None or row["family"] in library.families


def test_a_sheet_can_name_whatever_others_do(library):
    """Every rule about work of the place has its word for `others_do`, and silences its question there."""
    from evener.ingest.jobsheet.words import usual

    rules_of_place = [row["rule"] for row in library.tables["reconcile"] if row["about"] == "place"]
    assert sorted(usual("gap")) == sorted(rules_of_place)
    job = JobSheet(place("hay", animals={"cattle": 40}), (SPRAY,))
    silent = replace(job, place=replace(job.place, others_do=("hay_cut", "fed")))
    assert fired(library, job) - fired(library, silent) == {"hay_cut", "fed"}
