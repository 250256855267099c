"""Gates are met or not, and a size without a record asks what such machines ask."""

from dataclasses import replace

import pytest

from evener.schema.records import JobSheet, Place, Quantity, Task
from evener.scoring.core.demand import Gate
from evener.scoring.decision.sizing import size_job
from evener.scoring.gives.gates import BUSHINGS, OF_GATE, PTO_GEAR, fitted, offered, passes


def exact(value):
    return Quantity(value, value, "exact")


def test_a_size_asks_the_gates_of_the_nearest_record(library):
    """A 5 x 6 ft baler given by size asks the PTO speeds and remotes of the records of that size."""
    task = Task("bale", "round_baler", bale_width_m=exact(1.524), bale_diameter_m=exact(1.829))
    gates = {gate.axis: gate for gate in size_job(JobSheet(Place("a place"), (task,)), library).tasks[0].gates}
    same_size = [one for one in library.implements.values() if one.family == "round_baler" and "5x6" in one.label]
    assert gates["remotes"].least in {one.remotes_needed for one in same_size}
    assert gates["pto_speed"].accepts in {tuple(map(str, one.pto_speeds_rpm)) for one in same_size}


@pytest.mark.parametrize(
    ("accepts", "category", "met"),
    [
        (("1", "1"), "1", True),
        (("1", "1"), "2", True),  # one step down is bridged with bushings
        (("1", "1"), "3", False),
        (("2", "3"), "1", False),
        (("2", "3"), "3N", True),
        (("2", "2"), None, False),
    ],
)
def test_hitch_categories(classes, accepts, category, met):
    """A hitch meets its own category and one below; a smaller one, or one not stated, does not."""
    gate = Gate("work", "hitch_category", "", accepts)
    assert passes(gate, replace(classes[0], hitch_category=category)) is met


@pytest.mark.parametrize(
    ("axis", "accepts", "changed", "name"),
    [
        ("hitch_category", ("1", "1"), {"hitch_category": "2"}, BUSHINGS),
        ("hitch_category", ("1", "2"), {"hitch_category": "2"}, None),
        ("hitch_category", ("1", "1"), {"hitch_category": "3"}, None),
        ("pto_speed", ("540",), {"pto_speeds_rpm": (1000,)}, PTO_GEAR),
        ("pto_speed", ("540",), {"pto_speeds_rpm": (540, 1000)}, None),
        ("pto_speed", ("1000",), {"pto_speeds_rpm": (540,)}, None),
    ],
)
def test_an_adapter_is_named_and_a_wall_has_none(classes, axis, accepts, changed, name):
    """A step of one hitch category, or a stub of 1000 rpm only, is bridged and named; a wall stays one."""
    tractor, gate = replace(classes[0], **changed), Gate("work", axis, "", accepts)
    assert fitted(gate, getattr(tractor, OF_GATE[axis])) == name
    assert ("reduction gear to 540 (both manuals)" in offered(gate, tractor)) == (name == PTO_GEAR)


def test_a_track_tractor_counts_as_driven_on_all_wheels(classes):
    """A task that asks four-wheel drive is met by tracks and articulated tractors too."""
    gate = Gate("work", "drive", "4wd", ("4wd", "track", "articulated"))
    assert [passes(gate, replace(classes[0], drive=drive)) for drive in ("4wd", "track", "2wd", None)] == [
        True,
        True,
        False,
        False,
    ]
