"""What must hold of every demand, whatever the numbers: more asks more, and level is level."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evener.schema.records import Choice, JobSheet, Place, Quantity, Task
from evener.scoring.asks.power import of_guide_mass
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job

FEW = settings(
    max_examples=20, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


TASKS = {
    "plough": Task(
        "t", "moldboard_plow", attachment="mounted", width_m=exact(1.2), depth_m=exact(0.2), speed_km_h=exact(6.0)
    ),
    "disc": Task(
        "t", "disk_harrow", attachment="trailed", width_m=exact(2.5), depth_m=exact(0.1), speed_km_h=exact(8.0)
    ),
    "chisel": Task(
        "t", "chisel_plow", attachment="mounted", width_m=exact(2.0), depth_m=exact(0.15), speed_km_h=exact(7.0)
    ),
    "mower": Task("t", "disc_mower", attachment="mounted", width_m=exact(2.4), speed_km_h=exact(10.0)),
    "blade": Task("t", "front_blade", width_m=exact(2.2), snow_depth_m=exact(0.2), speed_km_h=exact(6.0)),
    "rake": Task("t", "side_delivery_rake", attachment="trailed", width_m=exact(3.0), speed_km_h=exact(9.0)),
    "trailer": Task("t", "tipping_trailer", load_kg=exact(5000.0), brakes=Choice(("none",))),
    "slurry": Task("t", "manure_spreader", tank_l=exact(4000.0), brakes=Choice(("braked",))),
    "mixer": Task("t", "feed_mixer", load_kg=exact(2500.0), brakes=Choice(("braked",))),
    "sprayer": Task("t", "mounted_sprayer", tank_l=exact(500.0), speed_km_h=exact(7.0)),
}
WIDE = ("plough", "disc", "chisel", "mower", "blade", "rake")
names = st.sampled_from(sorted(TASKS))
slopes = st.floats(0.0, 0.20)
factors = st.floats(1.0, 1.8)


def demands(task, library, slope=0.05):
    """Return what a task asks by axis, of power each estimate by itself, and the middle of the one that governs."""
    place = Place("a place", slope=exact(slope), texture=Choice(("medium",)))
    heavy = replace(task, machine_mass_kg=task.machine_mass_kg or exact(900.0))
    sizing = size_job(JobSheet(place, (heavy,)), library, Draws(32))
    assert not sizing.not_sized, sizing.not_sized
    found = {demand.axis: demand for demand in sizing.tasks[0].demands}
    power = found.pop("pto_power", None)
    asked = {axis: (one.alpha, one.beta) for axis, one in found.items()}
    if power is not None:
        asked |= {one.basis: (one.alpha, one.beta) for one in power.estimates}
        asked["pto_power"] = np.median(of_guide_mass(sizing.setting, power)), 0.0
    return asked


def never_less(more, less):
    """On every axis, for any tractor, nothing of the first asks less than the second."""
    assert more.keys() >= less.keys()
    for axis in less:
        alpha, beta = more[axis]
        for mass in (0.0, 1.0, 2500.0):
            least = less[axis][0] + less[axis][1] * mass
            enough = bool(np.all(alpha + beta * mass >= least * (1 - 1e-12)))
            assert enough, axis


@FEW
@given(name=names, slope=slopes, more=st.floats(0.0, 0.15))
def test_a_steeper_slope_never_asks_less(library, name, slope, more):
    """Steeper ground never asks less power, pull, lift or towed mass, of any tractor."""
    never_less(demands(TASKS[name], library, slope + more), demands(TASKS[name], library, slope))


@FEW
@given(name=names, mass=st.floats(300, 3000), more=factors)
def test_a_heavier_machine_never_asks_less(library, name, mass, more):
    """A heavier machine never asks less on any axis."""
    light, heavy = (replace(TASKS[name], machine_mass_kg=exact(kilograms)) for kilograms in (mass, mass * more))
    never_less(demands(heavy, library), demands(light, library))


@FEW
@given(name=st.sampled_from(WIDE), width=st.floats(1.0, 3.0), more=factors)
def test_a_wider_tool_never_asks_less(library, name, width, more):
    """A wider tool of the same mass never asks less on any axis."""
    narrow, wide = (replace(TASKS[name], width_m=exact(metres)) for metres in (width, width * more))
    never_less(demands(wide, library), demands(narrow, library))


@FEW
@given(name=names, speed=st.floats(3.0, 10.0), more=factors)
def test_a_faster_pace_never_asks_less(library, name, speed, more):
    """Going faster never asks less on any axis."""
    slow, fast = (replace(TASKS[name], speed_km_h=exact(kilometres)) for kilometres in (speed, speed * more))
    never_less(demands(fast, library), demands(slow, library))


@FEW
@given(name=names)
def test_zero_slope_is_level_ground(library, name):
    """On a slope of zero nothing of grade is left, and no pull grows with the tractor's mass."""
    level, nearly = (demands(TASKS[name], library, slope) for slope in (0.0, 1e-9))
    for axis, (alpha, beta) in level.items():
        assert nearly[axis][0] == pytest.approx(alpha, rel=1e-6)
        assert axis != "drawbar_pull" or not np.any(beta)


@pytest.mark.ci
@FEW
@given(
    name=names,
    field=st.sampled_from(("pto_power_kw", "hitch_lift_610_kg", "hydraulic_flow_l_min", "rear_tyre_width_m")),
    more=st.floats(1.0, 1.3),
)
def test_more_of_a_tractor_never_lowers_what_it_meets(library, classes, name, field, more):
    """More power, lift, oil or a wider tyre never lowers the share of draws that a tractor meets."""
    model = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    better = replace(model, **{field: getattr(model, field) * more})
    if field == "hitch_lift_610_kg":
        better = replace(better, hitch_lift_ends_kg=model.hitch_lift_ends_kg * more)
    place = Place("a place", slope=exact(0.05), texture=Choice(("medium",)))
    sizing = size_job(JobSheet(place, (TASKS[name],)), library, Draws(32))
    one, two = (sizing.score([tractor], classes)[0] for tractor in (model, better))
    assert two.adequacy >= one.adequacy
