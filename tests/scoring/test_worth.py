"""What to ask next where cost decides: an answer is the draws in which it is so, and is worth what knowing it saves."""

from __future__ import annotations

from dataclasses import replace

import answers
import pytest

from evener.schema.money import Money
from evener.schema.records import JobSheet, OwnedMachine, Place, Quantity, Task, Tractor
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions import asking
from evener.scoring.questions.choosing import ByCost, BySureness, by_cost, chooser
from evener.scoring.questions.open_answers import open_answers


def exact(value):
    return Quantity(value, value, "exact", f"{value} m")


def between(low, high):
    return Quantity(low, high, "range", f"{low} to {high} m")


PLACE = Place("a place", slope=exact(0.05))
CUT = Task("cut", "rotary_cutter", width_m=exact(2.1336), stem_m=between(0.0254, 0.0762), hours_h=exact(20.0))
BALE = Task(
    "bale",
    "round_baler",
    bale_width_m=exact(1.22),
    bale_diameter_m=exact(1.52),
    hours_h=exact(60.0),
    planned=True,
    chance=0.4,
)


@pytest.fixture(scope="module")
def picks(library, classes):
    sizing = size_job(JobSheet(PLACE, (CUT, BALE)), library, Draws(2048))
    return by_cost(sizing, classes, classes)


@pytest.fixture(scope="module")
def survey(library, classes):
    return asking.survey(JobSheet(PLACE, (CUT, BALE)), library, classes)


def test_questions_come_by_what_they_are_worth(survey):
    """The first question saves most a year when answered; none is worth less than nothing."""
    worth = [one.worth for one in survey.questions]
    assert all(one >= 0 for one in worth)
    assert [round(one) for one in worth] == sorted((round(one) for one in worth), reverse=True)
    assert survey.questions[0].worth > 1


def test_parts_of_an_answer_are_parts_of_the_draws(picks):
    """Every draw lies in one part of each answer that a task rests on."""
    for one in open_answers(picks.cheapest.decision.sizing, "si"):
        drawn = [part.where for part in one.parts if part.where is not None]
        if drawn:
            assert sum(where.astype(int) for where in drawn).min() == 1
            assert sum(where.astype(int) for where in drawn).max() == 1


def test_knowing_never_costs(picks):
    """What the pick by answer costs over all answers is at most what the present pick costs."""
    costs = {one.valued.tractor.tractor_id: one for one in picks.cheapest.found}
    now = costs[picks.now.tractor_id]
    for one in open_answers(picks.cheapest.decision.sizing, "si"):
        settled = picks.answer(one)
        told = 0.0
        for part, pick in zip(one.parts, settled.picks, strict=True):
            if part.where is not None and part.where.any():
                told += costs[pick.tractor_id].total[part.where].sum()
        if all(part.where is not None for part in one.parts):
            assert told / now.total.size <= now.expected + 1e-6


def test_a_plan_settled_is_the_cost_with_it_and_without(picks):
    """The mean in the draws in which a plan comes, and in the others, is what is printed of it."""
    for one in picks.cheapest.found[:3]:
        comes = next(task.comes for task in picks.cheapest.decision.work.tasks if task.name == "bale")
        assert one.if_comes["bale"] == pytest.approx(one.total[comes].mean())
        mixed = comes.mean() * one.if_comes["bale"] + (1 - comes.mean()) * one.if_not["bale"]
        assert mixed == pytest.approx(one.expected)


def test_the_pick_by_answer_is_near_the_pick_of_the_sheet_with_that_answer(library, classes, picks):
    """A stem settled in the sheet gives the size its part of the draws gave, or one step of the ladder beside it."""
    ladder = sorted({round(one.pto_power_kw) for one in classes})
    stems = next(one for one in open_answers(picks.cheapest.decision.sizing, "si") if one.quantity == "max_stem_m")
    for part in stems.parts[:: len(stems.parts) - 1]:
        told = picks.cheapest.pick(part.where).tractor
        sizing = size_job(part.job, library, Draws(2048))
        ranked = by_cost(sizing, classes, classes).now
        assert abs(ladder.index(round(told.pto_power_kw)) - ladder.index(round(ranked.pto_power_kw))) <= 1


def test_the_rule_of_the_sheet_decides_who_answers(library, classes):
    """Cost answers unless the sheet asks for the surest, or has no money to reckon with."""
    job = JobSheet(PLACE, (CUT,))
    sizing = size_job(job, library, Draws(256))
    scores = sizing.score(classes, classes)
    assert isinstance(chooser(sizing, scores, classes), ByCost)
    for other in (
        replace(job, policy=replace(job.policy, rule="sure")),
        replace(job, money=Money(currency="EUR")),
    ):
        assert isinstance(chooser(size_job(other, library, Draws(256)), scores, classes), BySureness)


def test_both_rules_are_told_and_what_is_not_reckoned(library, classes):
    """The answer names the other rule's pick, and says why no money could be reckoned where none could."""
    answer = answers.rank(JobSheet(PLACE, (CUT,)), library, classes)
    assert (answer["policy"]["rule"], answer["pick"]) == ("cost", answer["choice"]["pick"]["tractor_id"])
    assert answer["other_rule"] is not None
    euros = answers.rank(JobSheet(PLACE, (CUT,), money=Money(currency="EUR")), library, classes)
    assert (euros["policy"]["rule"], euros["choice"]) == ("sure", None)
    assert "EUR" in euros["policy"]["why_not_cost"]


def test_a_missing_figure_of_a_unit_is_worth_looking_up(library, classes):
    """A unit that would be the cheapest if it had a loader is asked about, and not picked before that."""
    feed = Task("feed", "bale_spear", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), hours_h=exact(90.0))
    model = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    large = next(one for one in classes if one.tractor_id == "row-crop-105-4wd")
    bare = replace(model, tractor_id="S-1", kind="stock", price=30000.0, loader_lift_kg=None, loader_height_m=None)
    other = replace(large, tractor_id="S-2", kind="stock", price=36000.0)
    found = asking.survey(JobSheet(PLACE, (feed,)), library, [*classes, bare, other], among=("stock",))
    assert found.chooser.now.tractor_id == "S-2"
    asked = next(one for one in found.questions if one.id == "S-1.loader_lift")
    assert asked.worth > 0
    assert "S-1" in {part.pick.tractor_id for part in asked.outcomes}


@pytest.mark.ci
def test_what_is_there_and_does_all_needs_no_purchase(library, classes):
    """With a tractor there that does all that is listed the answer says that nothing has to be bought."""
    large = next(one for one in classes if one.tractor_id == "utility-92-4wd")
    there = OwnedMachine("the old one", tractor=replace(large, tractor_id="owned-1", kind="member"))
    job = JobSheet(PLACE, (replace(CUT, stem_m=exact(0.03)),), machines=(there,))
    assert answers.rank(job, library, classes)["choice"]["there_does_all"] is True
    without = answers.rank(replace(job, machines=()), library, classes)["choice"]
    assert without["there_does_all"] is False
    assert without["pick"]["pto_power"] > answers.rank(job, library, classes)["choice"]["pick"]["pto_power"]


@pytest.mark.ci
def test_a_claim_that_fails_puts_the_task_back(library, classes):
    """A tractor said to take a task that its own figures do not do takes nothing off: the pick is as without it."""
    small = OwnedMachine(
        "the small one", takes=("cut",), tractor=Tractor("owned-1", "member", "small", pto_power_kw=6.0)
    )
    job = JobSheet(PLACE, (CUT,), machines=(small,))
    assert (
        answers.rank(job, library, classes)["pick"] == answers.rank(replace(job, machines=()), library, classes)["pick"]
    )
