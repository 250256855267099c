"""Machines already owned, and plans."""

from dataclasses import replace

import answers
import pytest

from evener.schema.records import JobSheet, OwnedMachine, Place, Quantity, Task, Tractor
from evener.scoring.decision.owned import owned
from evener.scoring.decision.sizing import size_job


def exact(value):
    return Quantity(value, value, "exact")


SPRAY = Task("spray", "mounted_sprayer", "mounted-sprayer-05")
FEED = Task("feed", "bale_spear", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), stack_high=exact(1.0))
PLACE = Place("a place", slope=exact(0.02))
BACKHOE = Tractor(
    "owned-1",
    "member",
    "backhoe",
    pto_power_kw=45.0,
    mass_kg=4000.0,
    hitch_category="none",
    loader_lift_kg=1500.0,
    loader_height_m=3.2,
)


def claims(library, classes, machine, *tasks):
    job = JobSheet(PLACE, (SPRAY, FEED), machines=(machine,))
    found = owned(size_job(job, library), classes, "us")
    return [(one["task"], one["verdict"], one["why"]) for one in found if not tasks or one["task"] in tasks]


def test_a_backhoe_without_a_hitch_takes_no_sprayer(library, classes):
    """A machine without a three-point hitch is said not to take mounted work, and to take what its loader lifts."""
    found = claims(library, classes, OwnedMachine("backhoe", takes=("spray", "feed"), tractor=BACKHOE))
    assert found[0] == ("spray", "short", "it has no three-point hitch for spray")
    assert found[1][:2] == ("feed", "met")


def test_a_loader_too_small_is_named_with_both_numbers(library, classes):
    """A loader that lifts too little is short, with what it lifts and what is asked."""
    small = replace(BACKHOE, loader_lift_kg=400.0)
    [(_, verdict, why)] = claims(library, classes, OwnedMachine("backhoe", takes=("feed",), tractor=small))
    assert verdict == "short"
    assert "lifts 882 lb with its loader" in why


def test_no_loader_stated_is_not_shown(library, classes):
    """A machine of which no loader is stated is not shown to do loader work."""
    bare = replace(BACKHOE, loader_lift_kg=None, loader_height_m=None)
    [(_, verdict, why)] = claims(library, classes, OwnedMachine("backhoe", takes=("feed",), tractor=bare))
    assert (verdict, why) == ("not shown", "no loader is stated")


def test_a_machine_of_which_nothing_is_known_is_not_checked(library, classes):
    """A bare name is taken at its word, and the answer says that it was not checked."""
    [(_, verdict, why)] = claims(library, classes, OwnedMachine("grey one", takes=("feed",)))
    assert verdict == "not checked"
    assert "say its power" in why


def test_a_machine_named_by_its_record_is_checked_by_it(library, classes):
    """A record of the store is checked with the record's own numbers."""
    machine = OwnedMachine("the big one", tractor_id="row-crop-105-4wd", takes=("feed", "spray"))
    assert {verdict for _, verdict, _ in claims(library, classes, machine)} == {"met"}
    machine = OwnedMachine("the small one", tractor_id="sub-compact-18-4wd", takes=("feed",))
    assert claims(library, classes, machine)[0][1] == "short"


def test_an_implement_alone_takes_nothing_off_the_list(library, classes):
    """An implement without a tractor leaves its task to the tractor that is sized."""
    job = JobSheet(
        PLACE,
        (SPRAY, FEED),
        machines=(OwnedMachine("our sprayer", implement_id="mounted-sprayer-05", takes=("spray",)),),
    )
    sizing = size_job(job, library)
    assert [task.task for task in sizing.tasks] == ["spray", "feed"]
    assert owned(sizing, classes)[0]["verdict"] == "not counted"


@pytest.mark.ci
def test_rank_shows_the_pick_without_plans_and_with_them(library, classes):
    """The plan that makes the difference is named; one that makes none is not."""
    bale = Task("bale later", "round_baler", "round-baler-12", planned=True, chance=0.3, year=2028)
    small = replace(SPRAY, name="spray more", planned=True, chance=0.5)
    answer = answers.rank(JobSheet(PLACE, (SPRAY, bale, small)), library, classes)
    plans = answer["plans"]
    assert plans["pick_without"] == answers.rank(JobSheet(PLACE, (SPRAY,)), library, classes)["pick"]
    sure = (SPRAY, replace(bale, planned=False, chance=1.0), replace(small, planned=False, chance=1.0))
    assert plans["pick_with"] == answers.rank(JobSheet(PLACE, sure), library, classes)["pick"]
    assert plans["differ"]
    assert {one["task"]: one["makes_the_difference"] for one in plans["plans"]} == {
        "bale later": True,
        "spray more": False,
    }


def test_no_plans_no_word_of_them(library, classes):
    """A sheet without plans says nothing of plans."""
    assert answers.rank(JobSheet(PLACE, (SPRAY,)), library, classes)["plans"] is None


@pytest.mark.ci
@pytest.mark.parametrize("chance", [0.05, 0.95])
def test_plans_compare_sure_with_never(library, classes, chance):
    """With and without are the plan come true and never, whatever its chance."""
    bale = Task("bale later", "round_baler", "round-baler-12", planned=True, chance=chance)
    plans = answers.rank(JobSheet(PLACE, (SPRAY, bale)), library, classes)["plans"]
    powers = {one.tractor_id: one.pto_power_kw for one in classes}
    assert powers[plans["pick_without"]] < powers[plans["pick_with"]]
