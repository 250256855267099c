"""What is open about the work itself: who does it, when it comes, with which machine; and how picks are told."""

import itertools
from dataclasses import replace

import answers
import numpy as np
import pytest

from evener.enquiry.enquiry import answer_gap
from evener.schema.records import JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.decision.contenders import Pick
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions import asking as questions
from evener.scoring.questions.bands import Outcome, by_pick, in_order
from evener.scoring.questions.choosing import by_cost, chooser
from evener.scoring.questions.open_work import open_work
from evener.scoring.questions.reconcile import gaps


def exact(value):
    return Quantity(value, value, "exact")


MOW = Task("mow", "disc_mower", width_m=exact(2.8), area_ha=exact(4.0), land="hay")
TOP = Task("top", "rotary_cutter", width_m=exact(1.5), stem_m=exact(0.02), area_ha=exact(8.0))
LATER = Task("bale later", "round_baler", planned=True, chance=0.5, bale_width_m=exact(1.2), bale_diameter_m=exact(1.5))
JOB = JobSheet(Place("a place", land=(LandUse("hay", exact(4.0)),), slope=exact(0.04)), (MOW, TOP, LATER))


@pytest.fixture(scope="module")
def found(library, classes):
    """What is open about the work of a small hay place, with its picks."""
    sizing = size_job(JOB, library)
    picks = chooser(sizing, sizing.score(classes, classes), classes)
    return [(one, picks.work(one)) for one in open_work(sizing)]


@pytest.mark.ci
def test_every_answer_leads_to_the_pick_of_the_sheet_that_holds_it(found, library, classes):
    """The pick told for an answer about hire, build, machine, year and unnamed work is that of the answered sheet."""
    assert {one.quantity for one, _ in found} == {"hire", "have", "build", "year", "gap"}
    powers = {one.tractor_id: one.pto_power_kw for one in classes}
    for one, settled in found:
        for part, pick in zip(one.parts, settled.picks, strict=True):
            if pick.changed:
                ranked = answers.rank(part.job, library, classes)["pick"]
                assert powers[pick.tractor_id] == pytest.approx(powers[ranked], rel=0.03), (one.quantity, part.text)


def test_work_that_may_be_hired_can_change_the_pick_and_is_worth_money(found):
    """Whether the mowing may be hired out decides the size, and saves money where it may."""
    hire = next(settled for one, settled in found if (one.task, one.quantity) == ("mow", "hire"))
    yes, no = hire.picks
    assert (yes.changed, no.changed) == (True, False)
    assert yes.tractor.pto_power_kw < no.tractor.pto_power_kw
    assert hire.worth > 0


def test_work_nobody_named_is_asked_once(library, classes):
    """A yes lists the work for this tractor for good, a no says that others do it; neither is asked again."""
    gap = next(one for one in gaps(JOB, library) if one.rule["rule"] == "hay_raked")
    here, never = (answer_gap(JOB, gap, said) for said in ("yes", "no"))
    assert [(one.family, one.land, one.hire) for one in here.tasks][-1] == ("rotary_rake", "hay", False)
    assert never.place.others_do == ("hay_raked",)
    for job in (here, never):
        assert "place.hay_raked" not in {one["id"] for one in questions.ask(job, library, classes)["questions"]}


@pytest.mark.ci
def test_of_like_worth_the_easier_comes_first(library, classes):
    """A yes or no stands before a measure that is worth about as much, and what is worth asking before the rest."""
    asked = questions.ask(JOB, library, classes)["questions"]
    put = [one["worth_asking"] for one in asked]
    assert put == sorted(put, reverse=True)
    effort = ("yes or no", "ask", "look", "plate", "tape", "scale")
    for one, other in itertools.pairwise(asked):
        if other["worth_asking"] and other["worth_a_year"] > one["worth_a_year"]:
            assert effort.index(one["how"]) < effort.index(other["how"])


def picks(powers, library_classes):
    by_power = {round(one.pto_power_kw / 0.7457): one for one in reversed(library_classes)}
    return [
        Outcome(f"{at} to {at + 1} in", 1 / len(powers), Pick(by_power[power], changed=power != powers[0]))
        for at, power in enumerate(powers, 1)
    ]


@pytest.mark.parametrize(
    ("powers", "told"),
    [
        ((40, 40, 50), [("1 to 3 in", 40, 0), ("3 to 4 in", 50, 0)]),
        ((40, 50, 40, 50), [("1 to 2 in", 40, 0), ("2 to 4 in", 50, 1), ("4 to 5 in", 50, 0)]),
        ((40, 50, 40), [("1 to 2 in", 40, 0), ("2 to 3 in", 50, 0), ("3 to 4 in", 40, 0)]),
    ],
)
def test_a_stretch_where_the_pick_flips_is_told_as_a_band(classes, powers, told):
    """Neighbours with one pick are one; where the pick goes back and forth there is one band with all its picks."""
    found = in_order(picks(powers, classes))
    assert [(one.answer, round(one.pick.tractor.pto_power_kw / 0.7457), len(one.or_else)) for one in found] == told
    assert sum(one.share for one in found) == pytest.approx(1.0)


def test_words_with_one_pick_are_told_once(classes):
    """Answers that are words and lead to one pick stand together, wherever they come."""
    found = by_pick([replace(one, answer=word) for one, word in zip(picks((40, 50, 40), classes), "abc", strict=True)])
    assert [one.answer for one in found] == ["a or c", "b"]


@pytest.mark.ci
def test_a_slope_of_one_use_of_the_land_is_asked_of_that_land(library, classes):
    """What a sheet says of one use of the land is a question of its own beside the place's, and answered there."""
    from evener.enquiry.enquiry import Enquiry
    from evener.enquiry.holdings import Holdings

    steep = LandUse("hay", exact(4.0), slope=Quantity(0.05, 0.15, "range", "5 to 15 %"))
    place = Place("a place", land=(steep,), slope=Quantity(0.02, 0.06, "range", "2 to 6 %"))
    enquiry = Enquiry(JobSheet(place, (MOW, TOP)), Holdings(library, tuple(classes)))
    asked = {one["id"]: one for one in questions.ask(enquiry.job, library, classes)["questions"]}
    assert (asked["land.hay.slope"]["now"], asked["place.slope"]["now"]) == ("5 to 15 %", "2 to 6 %")
    assert asked["land.hay.slope"]["question"].startswith("The hay ground: ")
    told = enquiry.with_answer("land.hay.slope", "8 %").job.place
    assert (told.land[0].slope.text, told.slope.text) == ("8 %", "2 to 6 %")


@pytest.mark.ci
def test_a_square_bale_of_unknown_size_is_a_usual_one(library, classes):
    """A square baler whose bale nobody said is sized with a usual square bale, which is asked in inches."""
    baler = Task("bale", "small_square_baler", area_ha=exact(4.0))
    answer = questions.ask(JobSheet(JOB.place, (baler,)), library, classes, units="us")
    assert answer["not_sized"] == []
    height = next(one for one in answer["questions"] if one["id"] == "bale.bale_height")
    assert height["now"] == "not said, taken as 14.2 to 15.83 in"


def test_a_part_no_different_from_any_other_changes_nothing(library, classes):
    """Near a tie of two sizes, parts of the draws that are picked blindly hardly ever lead to another pick."""
    from importlib import resources

    from evener.enquiry.holdings import Holdings
    from evener.ingest.jobsheet.reading import read_jobsheet_text

    words = Holdings(library, tuple(classes)).words
    text = resources.files("evener.demo_db").joinpath("jobs", "little_elsewhere.toml").read_text(encoding="utf-8")
    sizing = size_job(read_jobsheet_text(text, words)[0], library)
    cheapest = by_cost(sizing, classes, classes).cheapest
    first, second = sorted(one.expected for one in cheapest.found)[:2]
    assert second < 1.05 * first
    eighth = np.random.default_rng(5).integers(0, 8, (30, sizing.setting.draws.n))
    changed = [cheapest.settle([(1 / 8, row == at) for at in range(8)]).chance for row in eighth]
    assert np.mean(changed) < 0.02
