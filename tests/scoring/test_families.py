"""Every kind of implement can be sized, from each of its records and from a size alone."""

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.records import Choice, JobSheet, Place, Quantity, Task
from evener.scoring.core.demand import UNITS
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


WIDTH = {"width_m": exact(2.4)}
BALE = {"bale_width_m": exact(1.22), "bale_diameter_m": exact(1.52)}
SQUARE = {"bale_height_m": exact(0.36), "bale_width_m": exact(0.46)}
SIZES = {
    "small_square_baler": SQUARE,
    "large_square_baler": {"bale_height_m": exact(0.9), "bale_width_m": exact(1.2)},
    "round_baler": BALE,
    "bale_wrapper": BALE,
    "bale_spear": BALE,
    "flat_wagon": {**BALE, "bales": exact(12)},
    "tipping_trailer": {"load_kg": exact(8000)},
    "mounted_sprayer": {"tank_l": exact(600)},
    "trailed_sprayer": {"tank_l": exact(2000)},
    "orchard_sprayer": {"tank_l": exact(1000)},
    "spreader_spinner": {"load_kg": exact(900)},
    "manure_spreader": {"load_kg": exact(6000)},
    "feed_mixer": {"load_kg": exact(3000)},
    "generator": {"electric_power_kw": exact(20)},
    "post_hole_auger": {"auger_diameter_m": exact(0.3)},
    "wood_chipper": {"stem_m": exact(0.12)},
    "pallet_fork": {"load_kg": exact(700), "lift_height_m": exact(1.5)},
    "loader_bucket": {"material": "gravel", "volume_m3": exact(0.4)},
    "grapple": {"load_kg": exact(400)},
    "forage_harvester": {**WIDTH, "yield_t_ha": exact(30)},
}
PLACE = Place("a place", slope=exact(0.08), altitude_m=exact(700.0))


@pytest.fixture(scope="module")
def every_record(library):
    """One task for each implement record."""
    return tuple(Task(one.implement_id, one.family, one.implement_id) for one in library.implements.values())


def whole(sizing):
    """Nothing failed, and every demand is a finite positive number of a known axis, with steps."""
    assert [(one.task, one.why) for one in sizing.not_sized] == []
    for task in sizing.tasks:
        assert task.demands or task.gates, task.task
        for demand in task.demands:
            assert demand.axis in UNITS
            asked = demand.alpha + demand.beta
            assert np.all(np.isfinite(asked)), (task.task, demand.axis)
            assert np.all(demand.alpha >= 0), (task.task, demand.axis)
            assert np.all(demand.beta >= 0), (task.task, demand.axis)
            assert demand.steps, (task.task, demand.axis)


def test_every_record_of_the_library_can_be_sized(library, every_record):
    """Each of the library's implement records gives whole demands on a slope and at a height."""
    assert len(every_record) == 491
    whole(size_job(JobSheet(PLACE, every_record), library, Draws(8), traced=True))


def test_every_family_can_be_sized_from_a_size(library):
    """Each family gives whole demands from a width, a bale, a tank or what else it goes by, without a record."""
    tasks = tuple(Task(family, family, **SIZES.get(family, WIDTH)) for family in library.families)
    assert len(tasks) >= 45
    whole(size_job(JobSheet(PLACE, tasks), library, Draws(8), traced=True))


def test_every_model_a_family_names_is_there(library):
    """The rows of draft, rotary power and throughput that families and variants name are rows of those tables."""
    for row in (*library.families.values(), *(Row(one) for one in library.tables["variant"])):
        if row.rotary_row and not row.rotary_row.startswith("snow|"):
            machine, variant, *scope = row.rotary_row.split("|")
            found = library.rows(
                "rotary_power", machine=machine, variant=variant or None, scope=scope[0] if scope else "standard"
            )
            assert len(found) == 1, row.rotary_row
        if row.draft_row and row.draft_row != "snow|push":
            implement, variant = row.draft_row.split("|")
            assert len(library.rows("draft", implement=implement, variant=variant or None)) == 1, row.draft_row


class Row:
    """A row of the variant table, by attribute."""

    def __init__(self, row):
        self.rotary_row, self.draft_row = row["rotary_row"], row["draft_row"]


@pytest.mark.parametrize(
    ("task", "row"),
    [
        (Task("till", "disk_harrow", "disk-harrow-12"), "offset"),
        (Task("drill", "grain_drill", width_m=exact(3.0), build="no-till"), "no-till, 1 fluted coulter"),
        (Task("plant", "row_planter", attachment="mounted", width_m=exact(3.0)), "mounted, seeding only"),
    ],
)
def test_a_build_answers_to_its_own_row(demand_of, library, task, row):
    """An offset disk, a no-till drill and a mounted planter are read from their own rows of the draft table."""
    if task.implement_id is not None:
        offset = next(one for one in library.implements.values() if "offset" in one.label.casefold())
        assert offset.family == "disk_harrow"
        task = replace(task, implement_id=offset.implement_id)
    steps = demand_of("drawbar_pull", task).steps
    assert any(row in step.formula for step in steps), [step.formula for step in steps]


def test_a_sickle_takes_the_cutterbar_row_and_a_disc_the_other(demand_of, library):
    """A sickle mower-conditioner record is computed from the cutterbar row, one given by width from the disk row."""
    sickle = next(
        one for one in library.implements.values() if one.family == "mower_conditioner" and "sickle" in one.label
    )
    named = demand_of("pto_power", Task("mow", "mower_conditioner", sickle.implement_id))
    by_width = demand_of("pto_power", Task("mow", "mower_conditioner", **WIDTH))
    for demand, word in ((named, "cutterbar"), (by_width, "disk")):
        computed = next(one for one in demand.estimates if one.basis == "computed")
        assert any(word in step.formula for step in computed.steps)


def test_forage_is_counted_dry_where_the_row_counts_dry(demand_of):
    """A harvester's published power is worked out on dry matter: 30 to 40 % of the flow as it lies."""
    task = Task("chop", "forage_harvester", throughput_t_h=exact(40.0), speed_km_h=exact(5.0), **WIDTH)
    computed = next(one for one in demand_of("pto_power", task).estimates if one.basis == "computed")
    dry = next(step for step in computed.steps if step.method == "bales.dry_matter")
    assert dry.result.value == pytest.approx(40 * 0.35, rel=0.01)


def test_feed_mixing_takes_one_load_in_a_quarter_to_half_an_hour(demand_of):
    """A mixer's flow is its load over the time of one batch, so a heavier load asks more."""
    small, large = (
        next(
            one
            for one in demand_of("pto_power", Task("mix", "feed_mixer", load_kg=exact(load))).estimates
            if one.basis == "computed"
        )
        for load in (2000.0, 4000.0)
    )
    assert np.all(large.alpha > small.alpha)
    published = next(step for step in small.steps if step.method == "rotary_power.rotary_power")
    assert 2000 / 1000 / 0.5 <= published.inputs["F"].value <= 2000 / 1000 / 0.25


def test_a_generator_asks_a_half_more_than_it_gives(demand_of):
    """Trade press: 2 engine hp for each kW electric, and 1.2 kW at the least: a 20 kW generator asks 24 to 30 kW."""
    task = Task("power", "generator", electric_power_kw=exact(20.0))
    computed = next(one for one in demand_of("pto_power", task).estimates if one.basis == "computed")
    assert computed.alpha.min() == pytest.approx(20 * 1.2, rel=2e-3)
    assert computed.alpha.max() == pytest.approx(20 * 2 * 0.7457, rel=2e-3)


def test_a_large_generator_is_trailed_and_asks_1000_rpm(sized):
    """An 80 kW generator asks what the library's 80 kW one does, not the PTO speed of a small mounted one."""
    gates = {
        gate.axis: gate.asked
        for gate in sized(Task("power", "generator", electric_power_kw=exact(80.0))).tasks[0].gates
    }
    assert gates == {"pto_speed": "1000 rpm"}


def test_a_wagon_of_bales_needs_their_number(sized, demand_of):
    """A bale wagon weighs its bales times their number, and is not sized where nobody says how many."""
    unknown = sized(Task("cart", "flat_wagon", **BALE))
    assert "bales" in unknown.not_sized[0].remedy
    ten, five = (
        demand_of(
            "tow_mass", Task("cart", "flat_wagon", **BALE, bales=exact(count), machine_mass_kg=exact(1000.0))
        ).alpha
        - 1000.0
        for count in (10, 5)
    )
    assert ten == pytest.approx(2 * five)


def test_a_baler_given_by_its_bale_carries_one(demand_of, library):
    """A round baler given by the size of its bale is as heavy as such balers and one bale of hay."""
    towed = demand_of("tow_mass", Task("bale", "round_baler", **BALE, crop=Choice(("hay",))))
    bale = next(step for step in towed.steps if step.formula.startswith("mass of one bale"))
    peers = [one.mass_kg for one in library.implements.values() if one.family == "round_baler"]
    assert 300 < bale.result.value < 500
    assert min(peers) < np.median(towed.alpha) - bale.result.value < max(peers)


def test_a_machine_nobody_weighed_weighs_what_its_peers_do(demand_of, library):
    """A disc mower given by its width weighs what the records next to that width weigh, and a wider one more."""
    peers = sorted(
        (one for one in library.implements.values() if one.family == "disc_mower" and one.attachment == "mounted"),
        key=lambda one: one.working_width_m,
    )
    middles = []
    for peer in (peers[1], peers[-2]):
        task = Task("mow", "disc_mower", width_m=exact(peer.working_width_m))
        steps = demand_of("rear_lift", task, n=1).steps
        mass = next(step for step in steps if step.formula.startswith("mass of such a machine"))
        assert mass.result.value == pytest.approx(peer.mass_kg, rel=0.25)
        middles.append(mass.result.value)
    assert middles[0] < middles[1]


def test_a_recorded_bucket_holds_its_volume_of_what_is_moved(demand_of, library):
    """A bucket record is rated on loose soil of 90 lb/ft3: of another material it holds the same volume."""
    record = next(one for one in library.implements.values() if one.family == "loader_bucket" and one.payload_kg)
    task = Task("move", "loader_bucket", record.implement_id, material="gravel, loose, dry")
    load = next(step for step in demand_of("loader_lift", task, n=1).steps if step.method == "bulk.heap_mass")
    assert load.result.value == pytest.approx(record.payload_kg / 1441.66 * 1600.0, rel=1e-3)


def test_a_drills_draft_runs_from_row_to_row_without_a_step(demand_of):
    """In the middle of each class of widths a row of a drill asks what the table prints, and no step lies between."""
    pulls = {}
    for width in (1.697, 2.980, 5.233, 3.69, 3.71):
        task = Task(
            "drill", "grain_drill", width_m=exact(width), tools=exact(10.0), attachment="trailed", slope=exact(0.0)
        )
        pulls[width] = float(np.median(demand_of("drawbar_pull", task).alpha))
    assert [pulls[width] for width in (1.697, 2.980, 5.233)] == pytest.approx([4.0, 3.0, 2.0], rel=0.01)
    assert pulls[3.71] == pytest.approx(pulls[3.69], rel=0.01)
