"""Whether a tractor keeps its stance: front and rear axle, ballast, counterweight, and permitted loads."""

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Quantity, Task
from evener.scoring.advice.checks import checks, dangers
from evener.scoring.advice.loader_stance import loader_stance
from evener.scoring.advice.remedies import remedies
from evener.scoring.combinations.asked import asked_of
from evener.scoring.core.draws import quantile
from evener.scoring.gives.offer import offer
from evener.scoring.mechanics.stance import balance


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


def mass(record):
    return record.mass_kg


SPRAY = Task("spray", "mounted_sprayer", "mounted-sprayer-08")
BLADE = Task("push", "front_blade", "front-blade-05")
BALE = {"bale_width_m": exact(1.22), "bale_diameter_m": exact(1.52)}


def against(sizing, tractor, classes):
    """Return the offer, the details and the demands by axis of the only task."""
    one = sizing.score([tractor], classes)[0].offer
    details = sizing.detail(one)
    return one, details, {demand.axis: demand for demand in sizing.tasks[0].demands}


def test_a_full_sprayer_lifts_and_tips_more_than_an_empty_one(sized, by_id, classes):
    """Filling a mounted sprayer raises what it asks of the lift and of the front axle by its liquid."""
    full = sized(SPRAY)
    empty = sized(Task("spray", "mounted_sprayer", "mounted-sprayer-08", tank_l=exact(10.0)))
    for axis in ("rear_lift", "front_axle"):
        asked = [
            asked_of(found[2][axis], found[0])
            for found in (against(sizing, by_id["utility-62-4wd"], classes) for sizing in (full, empty))
        ]
        assert np.all(asked[0] > 1.5 * asked[1])


def test_the_front_axle_by_hand(sized, by_id, classes, library):
    """The demand is the machine's moment about the rear axle, the capacity (T_V - 0.2 T_L) b and the front weights'."""
    tractor, record = by_id["utility-62-4wd"], library.implements["mounted-sprayer-08"]
    one, details, demands = against(sized(SPRAY, n=1), tractor, classes)
    full = record.mass_kg + record.tank_l
    behind = tractor.rear_tyre_diameter_m / 2 + 0.20
    asked = asked_of(demands["front_axle"], one)[0]
    assert asked == pytest.approx(full * (behind + record.centre_of_mass_m))
    spare = (tractor.front_mass_share - 0.20) * tractor.mass_kg * tractor.wheelbase_m
    weights = 0.10 * tractor.mass_kg * (0.35 + 1.0) * tractor.wheelbase_m
    assert one.on(demands["front_axle"]).value == pytest.approx(spare + weights)
    axis = next(axis for axis in details[0].axes if axis.axis == "front_axle")
    assert axis.margin == pytest.approx((spare + weights) / asked - 1)


def test_the_front_weights_named_are_just_enough(sized, by_id, classes):
    """With the front weights that the answer names, the front axle carries 20 % of the unladen mass, by moments."""
    tractor = by_id["utility-50-2wd"]
    sizing = sized(SPRAY, n=1)
    one, details, demands = against(sizing, tractor, classes)
    named = next(remedy for remedy in remedies(sizing, one, details) if remedy.kind == "front_weights")
    assert named.needed == (details[0].axes[2].margin >= 0)
    stance, demand = one.stands(sizing.setting), demands["front_axle"]
    loads = balance.axle_loads(
        stance.mass_kg,
        T_V=stance.front_kg,
        T_H=stance.rear_kg,
        G_V=named.amount,
        G_H=demand.beta,
        a=stance.weights_ahead_m,
        b=stance.base_m,
        c=stance.behind_m,
        d=demand.alpha / demand.beta,
    )
    assert loads.front[0] == pytest.approx(0.20 * tractor.mass_kg)


def test_a_front_mounted_machine_is_held_by_the_rear_axle(sized, by_id, classes, library):
    """A front blade asks of the rear axle, which must keep 45 % of the unladen mass, and nothing of the rear lift."""
    tractor, record = by_id["utility-62-4wd"], library.implements["front-blade-05"]
    one, _, demands = against(sized(BLADE, n=1), tractor, classes)
    assert "rear_lift" not in demands
    asked = asked_of(demands["rear_axle"], one)[0]
    assert asked == pytest.approx(record.mass_kg * (0.425 * tractor.wheelbase_m + record.centre_of_mass_m))
    own = (1 - tractor.front_mass_share - 0.45) * tractor.mass_kg * tractor.wheelbase_m
    arm = tractor.wheelbase_m + tractor.rear_tyre_diameter_m / 2 + 0.20 + 0.5
    assert one.on(demands["rear_axle"]).value == pytest.approx(own + 0.15 * tractor.mass_kg * arm)


def test_too_heavy_a_front_machine_names_rear_weights(sized, by_id, classes, library):
    """Behind a blade too heavy for it a compact needs more rear weight than usual, and a lighter blade would do."""
    heaviest = max((one for one in library.implements.values() if one.attachment == "front_mounted"), key=mass)
    sizing = sized(replace(BLADE, implement_id=heaviest.implement_id))
    one, details, _ = against(sizing, by_id["compact-20-4wd"], classes)
    found = {remedy.kind: remedy for remedy in remedies(sizing, one, details) if remedy.axis == "rear_axle"}
    assert found["rear_weights"].needed is False
    assert found["rear_weights"].amount > 0.15 * by_id["compact-20-4wd"].mass_kg
    assert found["lighter"].amount > 0


def test_the_rear_weights_named_are_just_enough(sized, by_id, classes, library):
    """With the rear weights that the answer names, the rear axle carries 45 % of the unladen mass, by moments."""
    heaviest = max((one for one in library.implements.values() if one.attachment == "front_mounted"), key=mass)
    sizing = sized(replace(BLADE, implement_id=heaviest.implement_id), n=1)
    one, details, demands = against(sizing, by_id["utility-40-4wd"], classes)
    named = next(remedy for remedy in remedies(sizing, one, details) if remedy.kind == "rear_weights")
    stance, demand = one.stands(sizing.setting), demands["rear_axle"]
    loads = balance.axle_loads(
        stance.mass_kg,
        T_V=stance.front_kg,
        T_H=stance.rear_kg,
        G_V=demand.beta,
        G_H=named.amount,
        a=stance.ahead_m + demand.alpha / demand.beta,
        b=stance.base_m,
        c=stance.behind_m,
        d=stance.weights_behind_m - stance.behind_m,
    )
    assert loads.rear[0] == pytest.approx(0.45 * by_id["utility-40-4wd"].mass_kg)


def test_the_lighter_machine_named_is_met(sized, by_id, classes):
    """A machine of the mass that the answer names keeps the front axle in the asked share of draws."""
    small = by_id["compact-20-4wd"]
    sizing = sized(SPRAY)
    one, details, demands = against(sizing, small, classes)
    named = next(
        remedy for remedy in remedies(sizing, one, details) if remedy.kind == "lighter" and remedy.axis == "front_axle"
    )
    demand = demands["front_axle"]
    scaled = asked_of(demand, one) * named.amount / demand.beta
    assert np.mean(scaled <= one.on(demand).draws + 1e-9) >= sizing.confidence


def test_the_counterweight_leaves_a_fifth_behind(sized, by_id, classes):
    """With the counterweight the rear axle keeps 20 % of all mass; without it the tractor tips where moments say."""
    task = Task("feed", "bale_spear", **BALE, attachment="loader", machine_mass_kg=exact(100.0))
    sizing = sized(task)
    one = offer(by_id["compact-25-4wd"], classes, sizing.setting.draws)
    found = loader_stance(sizing.setting, one, task)
    stance = one.stands(sizing.setting)
    loader = stance.mass_kg * sizing.setting.allowance("loader_mass")
    needed = found.counterweight_kg > 0
    assert needed.any()
    total = stance.mass_kg + loader + 100.0 + found.load_kg + found.counterweight_kg
    rear = total - found.front_kg
    assert rear[needed] / total[needed] == pytest.approx(np.full(needed.sum(), 0.20))
    assert np.all(rear[~needed] / total[~needed] >= 0.20)
    before = rear - found.counterweight_kg * (stance.base_m + stance.weights_behind_m) / stance.base_m
    ahead = (found.tipping_kg - found.load_kg) / found.load_kg
    assert np.all((before < 0) == (ahead < 0))


def test_the_counterweight_by_hand(sized, by_id, classes):
    """In the middle case moments about the front axle give the counterweight and the tipping load."""
    task = Task("carry", "pallet_fork", load_kg=exact(500.0), machine_mass_kg=exact(120.0))
    sizing = sized(task, n=1)
    tractor = by_id["compact-25-4wd"]
    found = loader_stance(sizing.setting, offer(tractor, classes, sizing.setting.draws), task)
    base, mass = tractor.wheelbase_m, tractor.mass_kg
    reach, loader = 0.625 * base + 0.60, 0.13 * mass
    rear = mass * (1 - tractor.front_mass_share) - (loader * 0.1 * base + 120.0 * reach) / base
    total = mass + loader + 120.0
    assert found.tipping_kg[0] == pytest.approx(rear * base / reach)
    behind = tractor.rear_tyre_diameter_m / 2 + 0.20 + 0.5
    needed = (500.0 * reach / base + 0.2 * (total + 500.0) - rear) / ((base + behind) / base - 0.2)
    assert found.counterweight_kg[0] == pytest.approx(max(needed, 0.0))
    whole = total + 500.0 + found.counterweight_kg[0]
    left = rear + found.counterweight_kg[0] * (base + behind) / base - 500.0 * reach / base
    assert found.front_kg[0] == pytest.approx(whole - left)


def test_loader_work_names_its_counterweight(sized, by_id, classes):
    """Loader work that leaves the rear wheels too light names a counterweight, and a heavier load a heavier one."""
    amounts = []
    for load in (300.0, 900.0):
        sizing = sized(Task("carry", "pallet_fork", load_kg=exact(load)))
        one, details, _ = against(sizing, by_id["compact-32-4wd"], classes)
        amounts += [remedy.amount for remedy in remedies(sizing, one, details) if remedy.kind == "counterweight"] or [
            0.0
        ]
    assert amounts[1] > amounts[0] >= 0


def test_a_loader_load_beyond_the_front_axle_is_bounded(sized, by_id, classes):
    """Where a full tool is too much for the front axle the load at which its permitted load holds is named."""
    sizing = sized(task := Task("carry", "pallet_fork", load_kg=exact(900.0)))
    tractor = by_id["utility-62-4wd"]
    one, details, _ = against(sizing, tractor, classes)
    keep = np.ones(sizing.setting.draws.n, bool)
    front = quantile(loader_stance(sizing.setting, one, task).front_kg, 0.9)
    for limit, bounded in ((front + 1.0, False), (front - 200.0, True)):
        one, details, _ = against(sizing, replace(tractor, front_axle_max_kg=limit), classes)
        named = [fix for fix in remedies(sizing, one, details) if fix.kind == "lighter" and fix.needed]
        assert bool(named) == bounded
    part = loader_stance(sizing.setting, one, task, named[0].amount / 900.0)
    assert quantile(part.front_kg[keep], 0.9) == pytest.approx(front - 200.0, rel=0.001)


def test_a_load_that_tips_is_said(sized, by_id, classes):
    """A pallet that lifts the rear wheels of a compact is said, with the load at which they lift."""
    sizing = sized(Task("carry", "pallet_fork", load_kg=exact(1500.0)))
    one, _, _ = against(sizing, by_id["sub-compact-18-4wd"], classes)
    assert any("can tip forward" in said for said in dangers(sizing, one, "si"))


def test_a_permitted_axle_load_that_is_passed_is_said(sized, by_id, classes):
    """A raised machine that loads the rear axle beyond its permitted load is said with both numbers, and no other."""
    sizing = sized(SPRAY)
    tractor = by_id["utility-62-4wd"]
    assert not any("permitted" in said for said in dangers(sizing, against(sizing, tractor, classes)[0], "si"))
    weak = replace(tractor, rear_axle_max_kg=2500.0)
    said = [one for one in dangers(sizing, against(sizing, weak, classes)[0], "si") if "permitted" in one]
    assert len(said) == 1
    assert "2,500 kg are permitted" in said[0]


@pytest.mark.parametrize(
    "tractor_id",
    [
        "sub-compact-18-4wd",
        "compact-25-4wd",
        "utility-50-2wd",
        "utility-62-4wd",
        "row-crop-105-4wd",
        "row-crop-225-4wd",
        "articulated-300",
    ],
)
def test_the_balance_closes_for_every_size_of_tractor(sized, by_id, classes, tractor_id):
    """Axle loads with a machine raised, in front and behind, sum to the mass of all in every draw, for every class."""
    for task in (SPRAY, BLADE, Task("feed", "bale_spear", **BALE)):
        sizing = sized(task)
        dangers(sizing, against(sizing, by_id[tractor_id], classes)[0], "si")
    with pytest.raises(balance.BalanceError, match="100 on one side, 90 on the other"):
        balance.require_balance(100.0, 90.0, what="axle loads", tolerance=1.0)


def test_a_tractor_outside_its_hitch_band_is_said(sized, by_id, classes):
    """ISO 730 puts category 1 before up to 48 kW: a stronger tractor on it is told to check pins and balls."""
    strong = replace(by_id["utility-76-4wd"], hitch_category="1")
    sizing = sized(Task("spray", "mounted_sprayer", "mounted-sprayer-03"))
    said = checks(sizing, against(sizing, strong, classes)[0], "si")
    assert any("linkage category 1 is for" in one for one in said)
    assert not any(
        "linkage category" in one for one in checks(sizing, against(sizing, by_id["utility-62-4wd"], classes)[0], "si")
    )


def test_more_than_the_shaft_is_for_is_said(sized, by_id, classes, library):
    """A machine rated above 60 kW on a 540 shaft is said to be more than shaft type 1 is for (ISO 500-1)."""
    heavy = max(
        (one for one in library.implements.values() if one.pto_speeds_rpm == (540,) and one.rated_pto_power_kw),
        key=lambda one: one.rated_pto_power_kw,
    )
    assert heavy.rated_pto_power_kw > 60
    sizing = sized(Task("work", heavy.family, heavy.implement_id))
    said = checks(sizing, against(sizing, by_id["row-crop-150-4wd"], classes)[0], "si")
    assert any("shaft of type 1 is for up to 60 kW" in one for one in said)


def test_an_unknown_balance_is_not_shown_to_be_met(sized, by_id, classes):
    """A unit of unknown power, so of no class, without axle share is not shown to keep its stance."""
    sizing = sized(SPRAY)
    bare = replace(by_id["utility-62-4wd"], tractor_id="S-1", kind="stock", front_mass_share=None, pto_power_kw=None)
    one, details, demands = against(sizing, bare, classes)
    assert one.on(demands["front_axle"]).draws is None
    axis = next(axis for axis in details[0].axes if axis.axis == "front_axle")
    assert (axis.margin, axis.adequacy) == (None, 0.0)
    assert quantile(demands["front_axle"].alpha, 0.5) > 0
