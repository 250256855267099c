"""What tasks ask, redone by hand from the published formulas and the library's tables."""

import math
from dataclasses import replace

import answers
import numpy as np
import pytest

from evener.schema.records import Choice, JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.combinations.asked import asked_of
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job
from evener.scoring.place.coverage import land

LEVEL = Place("level", slope=Quantity(0.0, 0.0, "exact"))


def exact(value):
    return Quantity(value, value, "exact")


def middle(library, task, place=LEVEL):
    """The demands of one task with every uncertain input at its middle."""
    return size_job(JobSheet(place, (task,)), library, Draws(n=1), traced=True).tasks[0]


def on(task, axis):
    return next(demand for demand in task.demands if demand.axis == axis)


def estimate(demand, basis):
    return next(made for made in demand.estimates if made.basis == basis)


def test_a_disc_mower_is_computed_from_its_published_shaft_power(library):
    """Shaft (D497: 5 kW/m) x peak, plus rolling of machine and tractor over axle efficiency, over the load allowed."""
    record = library.implements["disc-mower-03"]
    demand = on(middle(library, Task("mow", "disc_mower", "disc-mower-03")), "pto_power")
    made = estimate(demand, "computed")
    speed = record.typical_speed_km_h / 3.6
    resistance = (1 / 55 + 0.04) * 9.80665e-3
    axle = 0.93
    shaft = 5.0 * record.working_width_m * 1.3
    rolling = resistance * speed / axle
    assert made.alpha[0] == pytest.approx((shaft + rolling * record.mass_kg) / 0.85, rel=1e-9)
    assert made.beta[0] == pytest.approx(rolling / 0.85, rel=1e-9)


def test_a_towed_machine_rolls_on_its_own_wheels_through_the_tractors_traction(library):
    """A trailed baler's rolling is paid through the PTO-to-drawbar ratio, and its flow is the rate over efficiency."""
    record = library.implements["round-baler-05"]
    made = estimate(on(middle(library, Task("bale", "round_baler", "round-baler-05")), "pto_power"), "computed")
    speed = record.typical_speed_km_h / 3.6
    flow = (6 + 12) / 2 / 0.65
    shaft = (4.0 + 1.1 * flow) * 1.4
    rolling = (1 / 55 + 0.04) * 9.80665e-3 * speed / ((0.72 + 0.77) / 2)
    mass = record.mass_kg + record.payload_kg
    assert made.alpha[0] == pytest.approx((shaft + rolling * mass) / 0.85, rel=1e-9)


def test_a_named_records_rating_leads_whatever_is_worked_out_beside_it(library):
    """On the level a record asks its rating, on a steep pull the hill besides, never the larger of two estimates."""
    task, rating = Task("mow", "disc_mower", "disc-mower-06"), library.implements["disc-mower-06"].rated_pto_power_kw
    assert on(middle(library, task), "pto_power").alpha[0] == pytest.approx(rating)
    demand = on(middle(library, task, replace(LEVEL, slope=exact(0.2))), "pto_power")
    assert demand.basis == "rated"
    assert estimate(demand, "computed") is not None
    assert demand.alpha[0] > rating


def test_what_comes_on_top_of_a_rating_can_be_slowed_down_and_the_rating_cannot(library):
    """On a hill in thick growth the floor lies between rating and whole; on level easy ground it is the rating."""
    task, rating = (
        Task("cut", "rotary_cutter", "rotary-cutter-11"),
        library.implements["rotary-cutter-11"].rated_pto_power_kw,
    )
    easy = on(middle(library, task), "pto_power")
    assert (easy.least[0][0], easy.alpha[0]) == pytest.approx((rating, rating))
    hard = replace(task, growth=Choice(("thick",)))
    demand = on(middle(library, hard, replace(LEVEL, slope=exact(0.12))), "pto_power")
    mass = 2100.0
    whole, least = (alpha[0] + beta[0] * mass for alpha, beta in ((demand.alpha, demand.beta), demand.least))
    assert rating <= least < whole
    assert demand.least_pace == 0.7
    full = on(middle(library, replace(hard, pace=Choice(("full",))), replace(LEVEL, slope=exact(0.12))), "pto_power")
    assert full.least_pace == 0.8
    assert full.least[0][0] + full.least[1][0] * mass >= least


def test_estimates_further_apart_than_their_spreads_are_said(library):
    """A sickle mower's published shaft power lies well below its rating, and the demand says so."""
    task = size_job(JobSheet(LEVEL, (Task("mow", "sickle_mower", "sickle-mower-04"),)), library).tasks[0]
    assert any("computed power lies below the rated one" in note for note in on(task, "pto_power").notes)


def test_rear_lift_is_the_full_load_brought_to_the_test_point(library, classes):
    """A full sprayer at its centre of mass asks m (1 + c x) / (1 + 0.61 c) of the lift at 610 mm, over what is used."""
    record = library.implements["mounted-sprayer-08"]
    sized = size_job(JobSheet(LEVEL, (Task("spray", "mounted_sprayer", "mounted-sprayer-08"),)), library, Draws(n=1))
    tractor = next(one for one in classes if one.tractor_id == "utility-50-4wd")
    asked = asked_of(on(sized.tasks[0], "rear_lift"), sized.score([tractor], classes)[0].offer)[0]
    c = (tractor.hitch_lift_ends_kg / tractor.hitch_lift_610_kg - 1) / 0.61
    mass = record.mass_kg + record.tank_l  # water: 1 kg per litre
    by_hand = mass * (1 + c * record.centre_of_mass_m) / (1 + 0.61 * c) / 0.9
    assert asked == pytest.approx(by_hand, rel=1e-9)


def test_a_heavier_liquid_weighs_by_its_density(library):
    """A tank of 28-0-0 weighs 28 % more than of water (UNL-16), and the lift asked follows."""
    water, nitrogen = (
        on(middle(library, Task("spray", "mounted_sprayer", "mounted-sprayer-08", liquid=liquid)), "rear_lift").alpha[0]
        * 0.9
        for liquid in ("water", "UAN 28-0-0")
    )
    assert nitrogen - water == pytest.approx(0.28 * library.implements["mounted-sprayer-08"].tank_l, rel=1e-9)


def test_loader_lift_is_brought_to_the_pin_at_full_height(library):
    """A stacked bale asks (tool + bale) (1 + k x) at the pin; fed low, the same asks less by the low-height gain."""
    task = Task(
        "stack",
        "bale_spear",
        "bale-spear-07",
        bale_width_m=exact(1.22),
        bale_diameter_m=exact(1.52),
        load_kg=exact(400.0),
    )
    k, x, tool = (0.656 + 0.875) / 2, 1.22 / 2 + 0.10, library.implements["bale-spear-07"].mass_kg
    by_hand = (tool + 400.0) * (1 + k * x) / 0.9
    high = on(middle(library, replace(task, stack_high=exact(2))), "loader_lift").alpha[0]
    low = on(middle(library, replace(task, stack_high=exact(1))), "loader_lift").alpha[0]
    assert high == pytest.approx(by_hand, rel=1e-9)
    assert low == pytest.approx(by_hand / 1.3, rel=1e-9)


def test_a_stack_asks_the_height_of_its_top_bale(library):
    """Two bales of 1.52 m ask the pin at one layer's rise, half a bale and the clearance."""
    task = Task("stack", "bale_spear", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), stack_high=exact(2))
    height = on(middle(library, task), "loader_height").alpha[0]
    assert height == pytest.approx(1.52 * (0.87 + 1.0) / 2 + 1.52 / 2 + 0.15, rel=1e-9)


def test_the_power_to_climb_is_the_weight_up_the_slope(library):
    """On a slope a rating grows by (machine + tractor) g sin(slope) v over the PTO-to-drawbar ratio."""
    record = library.implements["rotary-cutter-11"]
    demand = on(
        middle(library, Task("cut", "rotary_cutter", "rotary-cutter-11"), replace(LEVEL, slope=exact(0.10))),
        "pto_power",
    )
    climb = 9.80665e-3 * math.sin(math.atan(0.10)) * record.typical_speed_km_h / 3.6 / ((0.72 + 0.77) / 2)
    assert demand.alpha[0] == pytest.approx(record.rated_pto_power_kw + climb * record.mass_kg, rel=1e-9)
    assert demand.beta[0] == pytest.approx(climb, rel=1e-9)


def test_what_a_record_is_built_for_is_the_records_to_say(library):
    """A named record asks what it is rated at, whatever stems the sheet adds."""
    plain = Task("cut", "rotary_cutter", "rotary-cutter-08")
    with_stems = replace(plain, stem_m=Quantity(0.02, 0.09, "range", "0.8 to 3.5 in"))
    first, second = (on(middle(library, task), "pto_power") for task in (plain, with_stems))
    assert first.alpha[0] == second.alpha[0]


def test_a_plate_leads_over_a_record(library):
    """What the sheet reads off the machine's plate stands before the record's rating."""
    task = Task("cut", "rotary_cutter", "rotary-cutter-08", rated_pto_power_kw=exact(30.0))
    assert on(middle(library, task), "pto_power").alpha[0] == pytest.approx(30.0)


def test_stems_beyond_a_cutters_build_are_cautioned(library):
    """A sheet whose stems go beyond what the named cutter is built for says so."""
    task = Task("cut", "rotary_cutter", "rotary-cutter-08", stem_m=Quantity(0.02, 0.09, "range", "0.8 to 3.5 in"))
    answer = answers.rank(JobSheet(LEVEL, (task,)), library, [])
    assert any("go beyond what Rotary cutter 6 ft, 2 in stems is built for" in said for said in answer["cautions"])


def test_a_pick_below_the_trades_size_is_cautioned(library, classes):
    """Where lift alone lets a smaller tractor pass than the trade uses, the answer says to check balance."""
    answer = answers.rank(JobSheet(LEVEL, (Task("spray", "mounted_sprayer", "mounted-sprayer-05"),)), library, classes)
    first = next(one for one in classes if one.tractor_id == answer["tractors"][0]["tractor_id"])
    assert first.pto_power_kw < library.implements["mounted-sprayer-05"].rated_tractor_power_kw * 0.95
    assert any("the trade usually puts" in said for said in answer["cautions"])


def test_an_open_choice_is_drawn_between_its_words(library):
    """Growth "normal or thick" gives the normal rating in half of the draws and a raised one in the other half."""
    task = Task("cut", "rotary_cutter", "rotary-cutter-08", growth=Choice(("normal", "thick")))
    alpha = on(size_job(JobSheet(LEVEL, (task,)), library).tasks[0], "pto_power").alpha
    rating = library.implements["rotary-cutter-08"].rated_pto_power_kw
    assert np.mean(alpha == rating) == pytest.approx(0.5, abs=1e-3)
    assert alpha.max() <= rating * 1.15 + 1e-9


def test_a_loader_that_is_not_on_the_record_is_never_assumed(library, classes):
    """A unit with a loader's height but no lift, or neither, gets no loader from its class."""
    task = Task("feed", "bale_spear", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52))
    sized = size_job(JobSheet(LEVEL, (task,)), library)
    model = next(one for one in classes if one.tractor_id == "utility-92-4wd")
    for height in (None, 3.5):
        unit = replace(model, tractor_id="S-1", kind="stock", loader_lift_kg=None, loader_height_m=height)
        offer = sized.score([unit], classes)[0].offer
        assert (offer.axis("loader_lift").value, offer.axis("loader_height").value) == (None, None)


def test_land_is_covered_at_most_once_and_at_most_whole():
    """Two tasks on one field cover it once, and a task never covers more than there is."""
    place = Place("a place", land=(LandUse("hay", exact(10.0)), LandUse("scrub", exact(2.0))))
    tasks = (
        Task("mow", "disc_mower", land="hay"),
        Task("rake", "rotary_rake", land="hay"),
        Task("cut", "rotary_cutter", land="scrub", area_ha=exact(5.0)),
    )
    covered = land(JobSheet(place, tasks))
    assert (covered["total"], covered["covered"], covered["unexplained"]) == (12.0, 12.0, 0.0)


def test_a_span_that_leans_on_practice_says_so(library):
    """A bale's density from published and practice rows together has the weaker status, and names all its sources."""
    task = Task("feed", "bale_spear", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52))
    step = next(one for one in on(middle(library, task), "loader_lift").steps if one.formula.startswith("density of"))
    assert (step.status, step.source) == ("practice", "ALBERTA; PRACTICE; TX-E319")
