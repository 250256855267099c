"""Margins, shares of draws, and order."""

from dataclasses import replace

import answers
import numpy as np
import pytest

from evener.schema.certainty import estimated
from evener.schema.records import Choice, JobSheet, Place, Policy, Quantity, Task, Tractor
from evener.scoring.combinations.margins import limiting
from evener.scoring.decision.sizing import size_job


def exact(value):
    return Quantity(value, value, "exact")


def between(low, high):
    return Quantity(low, high, "range", f"{low} to {high}")


CUT = Task("top the pasture", "rotary_cutter", width_m=exact(1.83), stem_m=between(0.025, 0.075))
FEED = Task("feed bales", "bale_spear", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), stack_high=exact(2))
SPRAY = Task("spray", "mounted_sprayer", "mounted-sprayer-05")
PLACE = Place("a place", slope=between(0.03, 0.10))


@pytest.fixture(scope="module")
def sizing(library):
    return size_job(JobSheet(PLACE, (CUT, FEED, SPRAY)), library)


def test_the_margins_sign_is_the_verdict(sizing, classes):
    """On every axis of every class, the margin is not negative exactly when the asked share of draws is met."""
    for one in sizing.score(classes, classes):
        for task in sizing.detail(one.offer, one.reach):
            for axis in task.axes:
                if axis.margin is not None:
                    assert (axis.margin >= 0) == (axis.adequacy >= axis.level), (one.tractor.tractor_id, axis)


def test_the_margin_is_capacity_over_demand(sizing, classes):
    """A stated capacity has the margin capacity / demand - 1 at the printed high end of the demand."""
    for one in sizing.score(classes, classes):
        for task in sizing.detail(one.offer):
            for axis in task.axes:
                if axis.margin is not None:
                    assert axis.margin == pytest.approx(axis.capacity / axis.high - 1, rel=1e-9)


def test_the_smallest_that_is_sure_enough_comes_first(sizing, classes):
    """Those that are sure enough on every task come first, by PTO power from the smallest up; then the nearest."""
    scores = sizing.score(classes, classes)
    meeting = [one for one in scores if one.meets]
    others = [one for one in scores if not one.meets]
    assert meeting
    assert scores == meeting + others
    powers = [one.tractor.pto_power_kw for one in meeting]
    assert powers == sorted(powers)
    near = [one.nearness for one in others]
    assert near == sorted(near, reverse=True)
    assert all(one.nearness == 1.0 for one in meeting)


def test_sure_enough_is_a_share_of_what_the_surest_class_reaches_on_each_task(sizing, classes):
    """A tractor is sure enough where, task by task, it does it in 0.7 of the surest class's share."""
    scores = sizing.score(classes, classes)
    surest = np.max([one.shares for one in scores], axis=0)
    for one in scores:
        assert one.meets == bool(np.all(np.array(one.shares) >= 0.70 * surest - 1e-9)), one.tractor.tractor_id


def test_a_task_that_no_class_does_is_named_and_the_rest_decides(library, classes):
    """A stack that no loader reaches is named as done by none, and the pick is as without it."""
    high = replace(FEED, name="stack", stack_high=exact(6))
    with_it, without = (size_job(JobSheet(PLACE, tasks), library) for tasks in ((CUT, high), (CUT,)))
    assert with_it.not_done_by_any(classes) == ("stack",)
    assert without.not_done_by_any(classes) == ()
    first, second = (sized.score(classes, classes)[0] for sized in (with_it, without))
    assert first.meets
    assert first.tractor.tractor_id == second.tractor.tractor_id


def test_one_more_unit_in_the_yard_changes_no_other_units_verdict(sizing, classes):
    """What can be reached is measured on classes: stock never changes what is enough."""
    units = [replace(one, kind="stock", tractor_id=f"S-{one.tractor_id}") for one in classes]
    many = {one.tractor.tractor_id: (one.meets, one.shares) for one in sizing.score(units, classes)}
    for one in sizing.score(units[:5], classes):
        assert many[one.tractor.tractor_id] == (one.meets, one.shares)


@pytest.mark.ci
def test_looking_for_the_first_few_gives_the_first_of_all(sizing, classes):
    """Scoring from the smallest up until enough are found gives the same first ones as scoring every one."""
    units = [
        replace(one, kind="stock", tractor_id=f"S-{one.tractor_id}-{place}", mass_kg=one.mass_kg + place)
        for one in classes
        for place in range(20)
    ]
    every, few = sizing.score(units, classes), sizing.score(units, classes, 10)
    assert len(few) < len(every)
    assert [one.tractor.tractor_id for one in few[:10]] == [one.tractor.tractor_id for one in every[:10]]


def test_a_missing_loader_is_not_shown_to_meet_loader_work(sizing, classes):
    """A tractor whose record names no loader meets no loader work, however strong."""
    ample = next(one for one in classes if one.tractor_id == "utility-92-4wd")
    bare = replace(ample, tractor_id="bare", kind="stock", loader_lift_kg=None, loader_height_m=None)
    one = sizing.score([bare], classes)[0]
    assert one.adequacy == 0.0
    assert limiting(sizing.detail(one.offer)).margin is None


def test_a_missing_lift_is_assumed_from_the_class_and_marked(sizing, classes):
    """A unit that does not state its lift takes the nearest class's, with its spread, and says so."""
    model = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    unit = replace(
        model, tractor_id="S-1", kind="stock", hitch_lift_610_kg=None, hitch_lift_ends_kg=None, spread_pct=None
    )
    one = sizing.score([unit], classes)[0]
    assert "hitch_lift_610_kg" in one.offer.assumed(sizing.tasks)
    lift = one.offer.axis("rear_lift")
    assert lift.assumed_from == model.label
    assert lift.draws.std() == pytest.approx(model.hitch_lift_610_kg * model.spread_pct / 200, rel=0.02)


def test_lift_known_at_the_ends_only_is_brought_to_the_test_point(sizing, classes):
    """A unit that states its lift at the ball ends gets the class's bend to 610 mm, never its lift at the ends."""
    model = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    unit = replace(model, tractor_id="S-1", kind="stock", hitch_lift_610_kg=None, hitch_lift_ends_kg=2000.0)
    lift = sizing.score([unit], classes)[0].offer.axis("rear_lift")
    assert lift.value == pytest.approx(2000.0 * model.hitch_lift_610_kg / model.hitch_lift_ends_kg)


def test_no_power_stated_is_not_shown_to_meet_power(sizing, classes):
    """A unit with neither PTO nor engine power meets no PTO work."""
    unit = Tractor("S-1", "stock", "a tractor of unknown power", drive="4wd", loader_lift_kg=9000.0)
    assert sizing.score([unit], classes)[0].adequacy == 0.0


def test_a_failed_gate_is_the_limit_and_no_margin_hides_it(library, classes):
    """A 1000 rpm machine is not met by a tractor with 540 rpm alone, however strong; far too little power says more."""
    task = Task("bale", "large_square_baler", "large-square-baler-01")
    strong = replace(max(classes, key=lambda one: one.pto_power_kw), pto_speeds_rpm=(540,), tractor_id="x")
    sized = size_job(JobSheet(Place("a place"), (task,)), library)
    one = sized.score([strong], classes)[0]
    limit = limiting(sized.detail(one.offer))
    assert (one.adequacy, limit.axis, limit.ok) == (0.0, "pto_speed", False)
    weak = replace(strong, pto_power_kw=30.0, engine_power_kw=36.0)
    assert limiting(sized.detail(sized.score([weak], classes)[0].offer)).axis == "pto_power"


def test_an_unlikely_plan_weighs_by_its_chance(library, classes):
    """A plan with a chance of 30 % that a tractor cannot do leaves it an adequacy of 70 %."""
    plan = Task("bale", "large_square_baler", "large-square-baler-07", planned=True, chance=0.3)
    sized = size_job(JobSheet(Place("a place"), (SPRAY, plan)), library)
    small = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    assert sized.score([small], classes)[0].adequacy == pytest.approx(0.7, abs=1e-3)


def test_owned_machines_take_their_tasks(library):
    """A task that an owned machine takes asks nothing of the tractor to buy."""
    from evener.schema.records import OwnedMachine

    job = JobSheet(PLACE, (CUT, FEED), machines=(OwnedMachine("old loader", takes=("feed bales",)),))
    sized = size_job(job, library)
    assert [task.task for task in sized.tasks] == ["top the pasture"]
    assert sized.owned == ("feed bales",)


def test_a_task_that_cannot_be_sized_leaves_no_pick(library, classes):
    """While a task is not sized no tractor is shown to meet the work, and the answer says what to do about it."""
    unknown = Task("cart bales", "flat_wagon", bale_width_m=exact(1.2), bale_diameter_m=exact(1.5))
    answer = answers.rank(JobSheet(PLACE, (CUT, unknown)), library, classes)
    assert answer["pick"] is None
    assert [one["task"] for one in answer["not_sized"]] == ["cart bales"]
    assert "bales" in answer["not_sized"][0]["remedy"]


def test_the_reserve_policy_reaches_rating_and_lift(library):
    """Asking for more in hand raises what a rating and a lift ask, in the ratio of what is left."""
    usual = size_job(JobSheet(Place("level"), (replace(CUT, implement_id="rotary-cutter-08", stem_m=None),)), library)
    more = size_job(
        JobSheet(
            Place("level"),
            (replace(CUT, implement_id="rotary-cutter-08", stem_m=None),),
            policy=Policy(reserve_power=0.32, reserve_lift=0.19),
        ),
        library,
    )
    for axis, ratio in (("pto_power", 0.85 / 0.68), ("rear_lift", 0.90 / 0.81)):
        first, second = (
            next(demand.alpha[0] for demand in sized.tasks[0].demands if demand.axis == axis) for sized in (usual, more)
        )
        assert second / first == pytest.approx(ratio)


def test_open_answers_are_named_with_what_stood_in(library):
    """What the sheet leaves open is listed with the span used for it; what it settles is not."""
    task = Task("cut", "rotary_cutter", width_m=exact(1.83), growth=Choice(("normal",)))
    answer = answers.rank(JobSheet(Place("level"), (task,)), library, [])
    sizes = {one["size"]: one["text"] for one in answer["open"]}
    assert sizes.keys() == {"max_stem_m"}
    assert sizes["max_stem_m"].startswith("not said")


def test_among_those_that_never_meet_the_largest_comes_first(library, classes):
    """Where no draw is met, the list opens with the tractors that come nearest, not with the smallest."""
    task = Task("bale", "large_square_baler", "large-square-baler-07")
    sized = size_job(JobSheet(Place("a place", slope=exact(0.2)), (task,)), library)
    never = [one for one in sized.score(classes, classes) if one.adequacy == 0.0]
    powers = [one.offer.tractor.pto_power_kw for one in never]
    assert len(powers) > 5
    assert powers == sorted(powers, reverse=True)


@pytest.mark.parametrize("reason", ["dyno in the yard, +- a few hp", "engine power x 0.87 +- 6 %", "by eye +-"])
def test_any_reason_of_an_estimate_can_be_ranked_with(sizing, classes, reason):
    """What a person writes of where a figure comes from is kept as text; only a range in per cent is read from it."""
    unit = replace(
        classes[0], tractor_id="X1", kind="stock", estimated={"pto_power_kw": estimated(reason)}, spread_pct=10.0
    )
    (score,) = sizing.score([unit], classes)
    assert 0.0 <= score.adequacy <= 1.0
