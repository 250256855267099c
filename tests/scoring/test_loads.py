"""What a machine carries where nobody weighs it: by the animals of the place, by its room and what it usually holds."""

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Quantity, Task
from evener.scoring.combinations.outcomes import enough
from evener.scoring.combinations.part_load import load_taken, with_share
from evener.scoring.place.loads import payload
from evener.scoring.place.machines import modelled


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


UNKNOWN = Quantity(None, None, "unknown")


@pytest.fixture
def load_of(sized):
    """Return the draws of what one task's machine carries [kg]."""

    def find(task, **place):
        sizing = sized(task, **place)
        assert not sizing.not_sized, sizing.not_sized
        return payload(sizing.setting, task).mass_kg

    return find


@pytest.mark.parametrize(
    ("family", "kind", "a_head"), [("manure_spreader", "horses", (170, 500)), ("feed_mixer", "cattle", (30, 55))]
)
def test_a_load_nobody_said_goes_by_the_animals_of_the_place(load_of, library, family, kind, a_head):
    """Six horses fill no spreader for sixty; a herd of any size stays within the machines that there are."""
    task, there = Task("work", family, load_kg=UNKNOWN), [one.payload_kg for one in library.of_family(family)]
    middles = []
    for head in (6, 60, 6000):
        load = load_of(task, animals={kind: head})
        low, high = (min(max(head * one, min(there)), max(there)) for one in a_head)
        assert np.all((load >= low - 1e-6) & (load <= high + 1e-6))
        middles.append(float(np.median(load)))
    assert middles[0] < middles[1] < middles[2]
    unsaid = load_of(task)
    assert min(there) < unsaid.min() <= unsaid.max() < 0.7 * max(there)


def test_a_tank_holds_what_its_family_carries(load_of):
    """A mixer's ten cubic metres are of feed, a slurry tank's are of liquid; only a liquid that is said is one."""
    tank = {"tank_l": exact(10_000.0)}
    feed, slurry = load_of(Task("feed", "feed_mixer", **tank)), load_of(Task("spread", "manure_spreader", **tank))
    assert 2500 < feed.min() <= feed.max() < 4500
    assert slurry == pytest.approx(np.full(slurry.size, 10_000.0), rel=0.02)
    assert np.all(load_of(Task("feed", "feed_mixer", liquid="water", **tank)) > 9_500)


def test_a_volume_is_of_the_usual_material_and_sizes_the_machine(load_of, sized):
    """A spreader's volume without a word of manure is one of manure, in its load and in its rating; never left out."""
    room = {"volume_m3": exact(1.76)}
    told, untold = Task("a", "manure_spreader", material="manure", **room), Task("a", "manure_spreader", **room)
    assert np.array_equal(load_of(told), load_of(untold))
    powers = [modelled(sized(one).setting, one, "power") for one in (untold, Task("a", "manure_spreader"))]
    assert np.median(powers[0].values) < 0.7 * np.median(powers[1].values)


def test_a_volume_of_nobody_knows_what_is_told_and_not_left_out(sized):
    """A trailer's volume of no material is not sized as if it had not been said: the answer asks what it is."""
    missing = sized(Task("cart", "tipping_trailer", volume_m3=exact(6.0))).not_sized
    assert [one.why for one in missing] == ["what the tipping trailer holds is not known"]
    assert not sized(Task("cart", "tipping_trailer", volume_m3=exact(6.0), material="gravel")).not_sized


def test_a_bucket_too_large_for_a_loader_is_filled_in_part(sized, by_id, classes):
    """A yard of gravel is loaded by a loader that lifts half of it, in more journeys; a pallet is lifted or not."""
    for task, met in (
        (Task("load", "loader_bucket", material="gravel", volume_m3=exact(0.76)), True),
        (Task("load", "pallet_fork", load_kg=exact(1300.0)), False),
    ):
        sizing = sized(replace(task, lift_height_m=exact(2.0)))
        asked = next(one for one in sizing.tasks[0].demands if one.axis == "loader_lift")
        block = sizing.score([by_id["utility-50-4wd"]], classes)[0].offer.block
        assert not np.any(enough(with_share(asked, 1.0), block))
        assert bool(np.mean(enough(asked, block)) > 0.5) is met
        taken = load_taken(replace(sizing.tasks[0], demands=(asked,)), block)
        assert bool(np.all(taken < 1.0)) is met
