"""Towed mass against tractor mass, by brakes and speed, and what would close a gap."""

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Choice, Quantity, Task
from evener.scoring.advice.checks import checks
from evener.scoring.advice.remedies import remedies
from evener.scoring.combinations import margins as fit
from evener.scoring.questions.open_unknowns import open_unknowns


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


SLURRY = Task(
    "spread slurry",
    "manure_spreader",
    tank_l=exact(5000.0),
    machine_mass_kg=exact(2200.0),
    slope=exact(0.12),
    soil=Choice(("hard",)),
    speed_km_h=exact(5.0),
)


def against(sizing, tractor, classes):
    one = sizing.score([tractor], classes)[0].offer
    return one, sizing.detail(one)


def brakes_left_open(sizing):
    return [one.words for one in open_unknowns(sizing) if one.name == "brakes"]


def axis(details, name):
    return next(one for one in details[0].axes if one.axis == name)


def test_a_slurry_tank_on_a_hill_is_limited_by_what_the_tractor_may_tow(sized, by_id, classes):
    """A 7 m3 tank without brakes on a 12 % drive: a 92 hp tractor may not tow it, not even with a part of its load."""
    large = replace(SLURRY, brakes=Choice(("none",)), tank_l=exact(7000.0), machine_mass_kg=exact(3000.0))
    one, details = against(sized(large), by_id["utility-92-4wd"], classes)
    limit = fit.limiting(details)
    assert (limit.axis, limit.margin < 0) == ("tow_mass", True)
    assert axis(details, "drawbar_pull").margin > 0
    assert axis(details, "pto_power").margin > axis(details, "tow_mass").margin
    assert one.tractor.tractor_id == "utility-92-4wd"


@pytest.mark.parametrize(
    ("brakes", "speed", "ratio"), [("braked", 25.0, 4.5), ("braked", 45.0, 3.0), ("none", 25.0, 1.5)]
)
def test_the_ratio_is_the_published_one(sized, by_id, classes, brakes, speed, ratio):
    """Makers' manuals: 4.5 times the tractor with brakes to 40 km/h, 3 times to 50; 1.5 times without."""
    task = Task("haul", "tipping_trailer", load_kg=exact(6000.0), brakes=Choice((brakes,)), speed_km_h=exact(speed))
    tractor = by_id["utility-62-4wd"]
    _, details = against(sized(task), tractor, classes)
    assert axis(details, "tow_mass").capacity == pytest.approx(ratio * tractor.mass_kg)


def test_brakes_nobody_mentions_stay_open_where_they_matter(sized):
    """Brakes of a trailer that is there are asked, one to be bought is bought braked, a baler counts as unbraked."""
    trailer = Task("haul", "tipping_trailer", load_kg=exact(6000.0))
    assert brakes_left_open(sized(replace(trailer, have=True))) == [("none", "braked")]
    chosen = sized(trailer)
    assert brakes_left_open(chosen) == []
    assert any("choose one with brakes" in note for one in chosen.tasks[0].demands for note in one.notes)
    baler = sized(Task("bale", "round_baler", "round-baler-04"))
    assert brakes_left_open(baler) == []
    towed = next(demand for demand in baler.tasks[0].demands if demand.axis == "tow_mass")
    assert "unbraked" in towed.notes[0]


def test_a_record_that_says_braked_is_believed(sized, library, by_id, classes):
    """A trailer record with brakes is towed at 4.5 times, without asking."""
    braked = next(one for one in library.implements.values() if one.brakes == "braked")
    sizing = sized(Task("haul", braked.family, braked.implement_id))
    assert brakes_left_open(sizing) == []
    _, details = against(sizing, by_id["utility-62-4wd"], classes)
    assert axis(details, "tow_mass").capacity == pytest.approx(4.5 * by_id["utility-62-4wd"].mass_kg)


def test_a_gap_names_the_load_and_the_brakes_that_close_it(sized, by_id, classes):
    """Too heavy without brakes: the answer names the mass that may be towed, and that brakes would allow it."""
    sizing = sized(replace(SLURRY, brakes=Choice(("none",))))
    one, details = against(sizing, by_id["utility-75-2wd"], classes)
    found = {remedy.kind: remedy for remedy in remedies(sizing, one, details) if remedy.axis == "tow_mass"}
    assert found["lighter"].amount == pytest.approx(1.5 * by_id["utility-75-2wd"].mass_kg)
    assert found["brakes"].amount == pytest.approx(4.5 * by_id["utility-75-2wd"].mass_kg)


def test_a_pull_that_falls_short_names_ballast_that_suffices(sized, by_id, classes):
    """The ballast named adds the pull that is missing: pull per kg, less the ballast's own grade, times its mass."""
    task = Task("plough", "moldboard_plow", width_m=exact(1.2), depth_m=exact(0.2), slope=exact(0.05))
    sizing = sized(task, texture=Choice(("medium",)), n=1)
    one, details = against(sizing, by_id["utility-62-4wd"], classes)
    named = {remedy.kind: remedy for remedy in remedies(sizing, one, details) if remedy.axis == "drawbar_pull"}
    demand = next(demand for demand in sizing.tasks[0].demands if demand.axis == "drawbar_pull")
    pull, mass = one.on(demand).draws[0], by_id["utility-62-4wd"].mass_kg
    heavier = mass + named["ballast"].amount
    assert pull / mass * heavier == pytest.approx(demand.alpha[0] + demand.beta[0] * heavier)
    share = named["narrower"].amount / 1.2
    assert demand.alpha[0] * share + demand.beta[0] * mass == pytest.approx(pull)


def test_slower_is_named_where_power_goes_with_speed(sized, by_id, classes):
    """A plough that asks too much power names the speed at which what it asks now would do."""
    task = Task("plough", "moldboard_plow", width_m=exact(1.5), depth_m=exact(0.2), speed_km_h=exact(8.0))
    sizing = sized(task, texture=Choice(("fine",)))
    one, details = against(sizing, by_id["utility-62-4wd"], classes)
    found = {remedy.kind: remedy for remedy in remedies(sizing, one, details) if remedy.axis == "pto_power"}
    assert 0 < found["slower"].amount < 8.0
    assert found["slower"].unit == "km/h"


def test_chains_are_named_where_they_would_do(sized, by_id, classes):
    """A blade on a slope of packed snow that plain tyres cannot push is told to fit chains."""
    task = Task(
        "push", "front_blade", "front-blade-05", snow_depth_m=exact(0.2), slope=exact(0.10), speed_km_h=exact(5.0)
    )
    sizing = sized(task)
    one, details = against(sizing, by_id["utility-76-4wd"], classes)
    assert axis(details, "drawbar_pull").margin < 0
    assert any(remedy.kind == "chains" for remedy in remedies(sizing, one, details))


def test_fast_or_heavy_towing_without_brakes_is_said(sized, by_id, classes):
    """Towing without brakes above 32 km/h or 1.5 t is said, and that the law decides."""
    task = Task(
        "haul", "flat_wagon", load_kg=exact(5000.0), brakes=Choice(("none",)), speed_km_h=exact(40.0), slope=exact(0.12)
    )
    sizing = sized(task)
    one, _ = against(sizing, by_id["utility-92-4wd"], classes)
    said = " ".join(checks(sizing, one, "si"))
    assert "towing is for up to 32 km/h" in said
    assert "1,500 kg without brakes" in said
    assert "downhill the towed machine pushes" in said


def test_towed_mass_is_machine_and_load(sized):
    """The mass towed is the empty machine and all it holds: 5,000 L of slurry taken as water and 2,200 kg of tank."""
    demand = next(one for one in sized(SLURRY).tasks[0].demands if one.axis == "tow_mass")
    assert demand.alpha == pytest.approx(np.full(256, 7200.0))


def test_chains_are_not_named_where_they_would_not_do(sized, by_id, classes):
    """On a slope that chains cannot climb either, chains are not named."""
    task = Task(
        "push", "front_blade", "front-blade-05", snow_depth_m=exact(0.2), slope=exact(0.40), speed_km_h=exact(5.0)
    )
    sizing = sized(task)
    one, details = against(sizing, by_id["utility-76-4wd"], classes)
    assert axis(details, "drawbar_pull").margin < 0
    assert not any(remedy.kind == "chains" for remedy in remedies(sizing, one, details))


def test_a_light_machine_does_not_push_a_heavy_tractor(sized, by_id, classes):
    """The push downhill is said of a machine of more than half the tractor's mass, and of no lighter one."""
    for load, said in ((300.0, False), (3000.0, True)):
        sizing = sized(Task("haul", "flat_wagon", load_kg=exact(load), machine_mass_kg=exact(500.0), slope=exact(0.12)))
        one, _ = against(sizing, by_id["utility-92-4wd"], classes)
        assert any("downhill" in words for words in checks(sizing, one, "si")) is said
