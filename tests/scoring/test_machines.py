"""The machine of a task: one machine, of a build and duty, with its level, mass, load and way of being carried."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from evener.schema.records import Choice, JobSheet, Place, Quantity, Task
from evener.scoring.asks.power import of_guide_mass
from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job
from evener.scoring.place import loads
from evener.scoring.place.machines import modelled
from evener.scoring.questions.open_unknowns import open_unknowns
from evener.scoring.ratings.builds import kind_in, kinds_of
from evener.scoring.ratings.rising import rising

# Where naming a record says more than its size: what no size tells apart, and trailers whose records say their speed.
NO_SIZE = {"bale_wrapper", "log_splitter", "backhoe_attachment", "flat_wagon", "tipping_trailer"}
SIZES = ("working_width_m", "max_stem_m", "bale_width_m", "bale_diameter_m", "bale_height_m", "tank_l")
OTHER_SIZES = ("auger_diameter_m", "electric_power_kw", "payload_kg")


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


def sized(library, task, n=64, **place):
    """Size one task on level medium ground."""
    ground = {"slope": exact(0.0), "texture": Choice(("medium",)), **place}
    sizing = size_job(JobSheet(Place("a place", **ground), (task,)), library, Draws(n))
    assert not sizing.not_sized, sizing.not_sized
    return sizing


def power(library, task, **place):
    """Return the PTO power asked in the middle [kW]."""
    sizing = sized(library, task, **place)
    demand = next(one for one in sizing.tasks[0].demands if one.axis == "pto_power")
    return float(np.median(of_guide_mass(sizing.setting, demand)))


def by_size(record, family, library):
    """Return a task that says the kind and the sizes of a record, and not its name."""
    kind = kind_in(record.label, kinds_of(library.rows("variant", family=family.family)))
    own = SIZES + tuple(name for name in OTHER_SIZES if name in (family.first_variable, family.second_variable))
    said = {
        SHEET_NAME.get(name, name): exact(value) for name in own if (value := getattr(record, name, None)) is not None
    }
    return Task("t", record.family, attachment=record.attachment, build=kind, **said)


def middle_record(library, family):
    """Return the middle of a family's medium records that are carried as is usual."""
    records = library.of_family(family.family)
    usual = [one for one in records if (one.duty, one.attachment) == ("medium", family.attachment)] or records
    ordered = sorted(usual, key=lambda one: (getattr(one, family.first_variable or "", 0) or 0, one.implement_id))
    return ordered[len(ordered) // 2]


def test_naming_the_middle_machine_gives_about_what_its_size_gives(library):
    """In three families of four the middle record and its sizes ask within a tenth of each other, in all a quarter."""
    ratios = {}
    for family in library.families.values():
        if family.power in {"loader", "carried"} or family.family in NO_SIZE:
            continue
        record = middle_record(library, family)
        task = by_size(record, family, library)
        ratios[family.family] = power(library, task) / power(library, Task("t", family.family, record.implement_id))
    assert {family: ratio for family, ratio in ratios.items() if not 0.8 < ratio < 1.25} == {}
    assert np.mean([0.9 < ratio < 1.1 for ratio in ratios.values()]) >= 0.75, ratios


def test_no_carrying_machine_is_ever_empty(library):
    """Where records of a family hold something, a machine nobody described does too, and no axis is asked nothing."""
    for family in library.families.values():
        records = library.of_family(family.family)
        for attachment in {one.attachment for one in records}:
            record = next(one for one in records if one.attachment == attachment)
            task = by_size(record, family, library)
            bare = replace(task, load_kg=None, tank_l=None if family.first_variable != "tank_l" else task.tank_l)
            sizing = sized(library, bare)
            for demand in sizing.tasks[0].demands:
                asked = demand.alpha + demand.beta * 3000.0
                assert np.all(asked > 0), (family.family, attachment, demand.axis)
            holds = [one for one in records if one.payload_kg and one.attachment == attachment]
            if holds and family.family not in {"loader_bucket", "grapple"}:
                held = loads.payload(sizing.setting, bare)
                assert held is not None, (family.family, attachment)
                assert np.all(held.mass_kg > 0), (family.family, attachment)


def test_a_bucket_grows_with_the_tractor(library, classes):
    """A bucket or grapple nobody described weighs and carries with the tractor: each class to 76 hp lifts its own."""
    for family in ("loader_bucket", "grapple"):
        sizing = sized(library, Task("load", family))
        scores = sizing.score([one for one in classes if one.loader_lift_kg and one.pto_power_kw < 60], classes)
        assert all(one.adequacy > 0.9 for one in scores), family


def test_a_chosen_machine_is_not_asked_for_its_plate_and_one_that_is_there_is(library):
    """Of a cutter still to be bought only the stems are asked; of one that is there the rating and the mass as well."""
    cutter = Task("cut", "rotary_cutter", width_m=exact(1.83))
    asked = {one.asks for one in open_unknowns(sized(library, cutter))}
    there = {one.asks for one in open_unknowns(sized(library, replace(cutter, have=True)))}
    assert "max_stem_m" in asked
    assert not {"rated_pto_power_kw", "mass_kg", "centre_of_mass_m"} & asked
    assert {"rated_pto_power_kw", "mass_kg", "centre_of_mass_m", "max_stem_m"} <= there


def test_a_machine_that_is_there_may_be_any_of_its_kind(library):
    """An unread plate spreads what is asked further than a machine still to be chosen does; the heavier asks more."""
    cutter = Task("cut", "rotary_cutter", width_m=exact(1.83), stem_m=exact(0.05))
    there = sized(library, replace(cutter, have=True))
    mass, rating = (modelled(there.setting, there.setting.job.tasks[0], what).values for what in ("mass", "power"))
    assert np.array_equal(np.argsort(mass), np.argsort(rating))
    spreads = []
    for task in (cutter, replace(cutter, have=True)):
        asked = next(one for one in sized(library, task).tasks[0].demands if one.axis == "pto_power").alpha
        spreads.append(float(np.std(np.log(asked))))
    assert spreads[1] > spreads[0] > 0.04


@pytest.mark.parametrize(
    ("family", "lighter", "heavier"),
    [
        ("mower_conditioner", {"build": "sickle"}, {}),
        ("grain_drill", {"attachment": "trailed"}, {"attachment": "trailed", "build": "no-till"}),
        ("disk_harrow", {"attachment": "trailed"}, {"attachment": "trailed", "build": "offset"}),
        ("disk_harrow", {"attachment": "trailed"}, {"attachment": "trailed", "build": "primary"}),
        ("field_cultivator", {"build": "secondary"}, {}),
        ("rotary_cutter", {"attachment": "trailed"}, {"attachment": "mounted"}),
        ("rotary_tiller", {"duty": "light"}, {"duty": "heavy"}),
    ],
)
def test_a_build_has_a_level_of_its_own(library, family, lighter, heavier):
    """At one width a sickle, a conventional drill, a tandem or secondary tool and a light one ask clearly less."""
    task = Task("t", family, width_m=exact(2.9), stem_m=exact(0.05) if family == "rotary_cutter" else None)
    assert power(library, replace(task, **lighter)) < 0.93 * power(library, replace(task, **heavier))


def test_a_silage_baler_asks_more_and_so_does_silage_in_a_hay_baler(library):
    """A silage baler of a size is rated higher, and wet crop adds to the rating of any baler; straw adds less."""
    baler = Task("bale", "round_baler", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52))
    assert power(library, replace(baler, build="silage")) > 1.02 * power(library, baler)
    hay, straw, silage = (power(library, replace(baler, crop=Choice((crop,)))) for crop in ("hay", "straw", "silage"))
    assert hay < straw < silage


def test_a_machine_is_carried_as_such_machines_of_its_size_are(library):
    """A 6 ft cutter is mounted and a 15 ft one pulled; a small disk is mounted; what the sheet says stands."""

    def axes(**said):
        return {one.axis for one in sized(library, Task("t", **said)).tasks[0].demands}

    assert "rear_lift" in axes(family="rotary_cutter", width_m=exact(1.83))
    assert "tow_mass" in axes(family="rotary_cutter", width_m=exact(4.57))
    assert "rear_lift" in axes(family="disk_harrow", width_m=exact(1.6))
    assert "rear_lift" in axes(family="rotary_cutter", width_m=exact(4.57), attachment="mounted")


def test_a_spreader_nobody_says_is_mounted_or_trailed_asks_more_with_its_load(library):
    """A spinner of more load is never rated less though large ones are trailed; the largest is rated as trailed."""
    spreader = Task("spread", "spreader_spinner", speed_km_h=exact(11.0))
    loads_kg = (300.0, 600.0, 1000.0, 1300.0, 2000.0, 3000.0, 4000.0, 6000.0)
    asked = [power(library, replace(spreader, load_kg=exact(load))) for load in loads_kg]
    assert all(less <= more * (1 + 1e-9) for less, more in pairwise(asked)), asked
    trailed = power(library, replace(spreader, load_kg=exact(6000.0), attachment="trailed"))
    assert asked[-1] == pytest.approx(trailed, rel=0.01)


def test_nobody_expects_stems_that_no_such_cutter_takes(library):
    """Where nobody says the stems, a 4 ft cutter meets none above 2 in, on scrub either; a 6 ft one there may."""
    most = {}
    for width in (1.22, 1.83):
        sizing = sized(library, Task("cut", "rotary_cutter", width_m=exact(width), land="scrub"))
        stems = next(one for one in sizing.setting.unknowns.of("cut") if one.fact.asks == "max_stem_m")
        most[width] = float(stems.values.max())
    assert most[1.22] <= 0.0508 + 1e-9
    assert most[1.83] > 0.09


def test_rising_values_pool_what_falls():
    """Neighbours that fall become their mean, and what rises stays."""
    assert rising([1.0, 3.0, 2.0, 4.0]) == [1.0, 2.5, 2.5, 4.0]
    assert rising([5.0, 1.0, 3.0]) == [3.0, 3.0, 3.0]
