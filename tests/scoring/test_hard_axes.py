"""What must never fail: axles on the level and on the hill, permitted loads; and what is only a limit to print."""

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Quantity, Task
from evener.scoring.advice.checks import dangers
from evener.scoring.advice.remedies import remedies
from evener.scoring.combinations.hard_axes import SURE, raised_loads, stand_of, uphill_limit
from evener.scoring.combinations.outcomes import enough, task_outcome
from evener.scoring.combinations.part_load import with_share
from evener.scoring.core.draws import quantile

SPRAY = Task("spray", "mounted_sprayer", "mounted-sprayer-08")


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


def front(sizing, tractor, classes):
    """Return the block of one tractor, the whole task, and its demand on the front axle."""
    one = sizing.score([tractor], classes)[0].offer
    return one.block, sizing.tasks[0], next(each for each in sizing.tasks[0].demands if each.axis == "front_axle")


def test_a_front_axle_is_met_in_all_draws_or_in_none(sized, classes):
    """Balance is no matter of confidence: each class does the sprayer, or is refused, by nine draws of ten."""
    sizing = sized(SPRAY)
    verdicts = set()
    for one in classes:
        block, task, demand = front(sizing, one, classes)
        holds = np.mean(enough(demand, block))
        without = replace(task, demands=(demand,), gates=())
        met = task_outcome(without, block).met
        assert met.all() or not met.any()
        if holds < SURE:
            assert not met.any(), one.tractor_id
        verdicts.add(bool(met.all()))
    assert verdicts == {True, False}


def test_a_permitted_axle_load_bounds_the_load_and_then_refuses(sized, by_id, classes):
    """Where a record permits less on an axle than a full tank puts there a part of it is taken, and said; else none."""
    tractor = by_id["utility-92-4wd"]
    sizing = sized(SPRAY)
    block, task, demand = front(sizing, tractor, classes)
    alone = replace(task, demands=(demand,), gates=())
    assert task_outcome(alone, block).met.all()
    least = with_share(demand, demand.least_load)
    full, part = (quantile(raised_loads(one, stand_of(one, block))[1][0], SURE) for one in (demand, least))
    for limit, met, parted in ((full + 1.0, True, False), (full - 1.0, True, True), (part - 1.0, False, False)):
        scored = sizing.score([replace(tractor, rear_axle_max_kg=limit)], classes)[0]
        block, task, demand = front(sizing, replace(tractor, rear_axle_max_kg=limit), classes)
        assert task_outcome(replace(task, demands=(demand,), gates=()), block).met.all() == met
        told = [
            one.amount for one in remedies(sizing, scored.offer, sizing.detail(scored.offer)) if one.kind == "part_load"
        ]
        assert bool(told) == parted
        assert all(80 <= amount < 100 for amount in told)


def test_the_limit_uphill_leaves_the_front_axle_its_least_by_moments(sized, by_id, classes):
    """At the slope printed, moments about the rear wheels leave the front axle 8 % of the unladen mass."""
    sizing = sized(SPRAY, n=1)
    block, _, demand = front(sizing, by_id["utility-62-4wd"], classes)
    stance, slope = stand_of(demand, block), uphill_limit(demand, block)[0, 0]
    mass, base, full = stance.mass_kg[0, 0], stance.base_m[0, 0], demand.beta[0]
    weights = mass * 0.10
    about = stance.front_kg[0, 0] * base + weights * (stance.weights_ahead_m[0, 0] + base)
    about -= full * stance.behind_m[0, 0] + demand.alpha[0]
    about -= slope * (mass * stance.centre_m[0, 0] + full * stance.centre_m[0, 0] * 1.15)
    assert about / base == pytest.approx(0.08 * mass, rel=1e-6)


def test_steeper_than_usual_is_a_limit_to_print_and_refuses_nothing(sized, by_id, classes):
    """A stretch too steep for the front axle leaves the verdict as it is, and is said with the computed limit."""
    tractor = by_id["utility-92-4wd"]
    gentle, steep = (sized(replace(SPRAY, slope=exact(0.02), steepest=exact(worst))) for worst in (0.02, 0.60))
    shares = [sizing.score([tractor], classes)[0].shares for sizing in (gentle, steep)]
    assert shares[0] == shares[1] == (1.0,)
    said = [dangers(sizing, sizing.score([tractor], classes)[0].offer, "si") for sizing in (gentle, steep)]
    assert not any("too light on slopes above" in one for one in said[0])
    assert any("too light on slopes above" in one and "the manual may set less" in one for one in said[1])


def test_a_usual_slope_too_steep_for_the_front_axle_refuses(sized, by_id, classes):
    """On ground that is as steep as that everywhere, the same tractor is refused for the raised machine."""
    met = []
    for slope in (0.02, 0.60):
        block, task, demand = front(sized(replace(SPRAY, slope=exact(slope))), by_id["utility-92-4wd"], classes)
        met.append(bool(task_outcome(replace(task, demands=(demand,), gates=()), block).met.all()))
    assert met == [True, False]


def test_a_tongue_takes_from_the_front_axle_and_a_wagon_on_four_wheels_does_not(sized, by_id, classes):
    """A heavy trailer on one axle is too much for a small tractor's front axle; the same mass on four wheels is not."""
    met = []
    for family in ("tipping_trailer", "flat_wagon"):
        sizing = sized(Task("haul", family, load_kg=exact(5000.0), machine_mass_kg=exact(2000.0), slope=exact(0.0)))
        block, task, demand = front(sizing, by_id["compact-27-4wd"], classes)
        met.append(bool(task_outcome(replace(task, demands=(demand,), gates=()), block).met.all()))
    assert met == [False, True]


def test_a_machine_on_its_own_wheels_is_named_where_a_raised_one_is_too_much(sized, by_id, classes):
    """A tractor whose front axle a large raised cutter lifts is told of a pull-type one where it could pull that."""
    cutter = Task("cut", "rotary_cutter", width_m=exact(3.05), stem_m=exact(0.025), attachment="mounted")
    named = {}
    for tractor_id in ("utility-50-4wd", "row-crop-125-4wd"):
        sizing = sized(cutter)
        scored = sizing.score([by_id[tractor_id]], classes)[0]
        named[tractor_id] = [one.kind for one in remedies(sizing, scored.offer, sizing.detail(scored.offer))]
    assert "trailed" in named["utility-50-4wd"]
    assert "trailed" not in named["row-crop-125-4wd"]


def test_no_limit_across_is_said_on_level_ground(sized, by_id, classes):
    """Across the slope a limit is printed where the ground passes it, and nothing clears a slope."""
    for slope, told in ((0.01, False), (0.45, True)):
        sizing = sized(replace(SPRAY, slope=exact(slope)))
        said = dangers(sizing, sizing.score([by_id["utility-62-4wd"]], classes)[0].offer, "si")
        assert any(one.startswith("Across the slope: ") for one in said) == told
