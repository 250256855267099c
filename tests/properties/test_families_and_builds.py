"""What must hold of every family and build: more asks no less of any axis, and a size gives what its record does."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evener.schema.records import Choice, JobSheet, Place, Quantity, Task
from evener.scoring.asks.power import of_guide_mass
from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job
from evener.scoring.ratings.builds import kind_in, kinds_of

FEW = settings(
    max_examples=40, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
SIZES = (
    "working_width_m",
    "max_stem_m",
    "bale_width_m",
    "bale_diameter_m",
    "bale_height_m",
    "tank_l",
    "payload_kg",
    "auger_diameter_m",
    "electric_power_kw",
)
STEPS = {
    "growth": tuple(Choice((word,)) for word in ("light", "normal", "thick")),
    "pace": tuple(Choice((word,)) for word in ("easy", "normal", "full")),
}
# Read off single records, as many as there are sizes: nothing but their middle counts.
OF_SINGLE_RECORDS = frozenset({"bale_wrapper", "tipping_trailer"})

whichever = st.integers(0, 9999)


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


def by_size(record, library):
    """Return the task that says of a machine what a buyer would: family, build, duty and sizes, and no record."""
    told = {SHEET_NAME.get(name, name): getattr(record, name) for name in SIZES}
    if record.tank_l is not None or record.family.endswith("baler"):
        told.pop("load_kg")
    kind = kind_in(record.label, kinds_of(library.rows("variant", family=record.family)))
    said = {key: exact(value) for key, value in told.items() if value is not None}
    return Task("t", record.family, attachment=record.attachment, build=kind, duty=record.duty, **said)


def middles(library):
    """Return the middle record of each build of each family."""
    builds = {}
    for record in library.implements.values():
        kind = kind_in(record.label, kinds_of(library.rows("variant", family=record.family)))
        builds.setdefault((record.family, record.attachment or "", kind or ""), []).append(record)
    return [
        sorted(builds[build], key=lambda one: (one.mass_kg or 0.0, one.implement_id))[len(builds[build]) // 2]
        for build in sorted(builds)
    ]


@pytest.fixture(scope="module")
def tasks(library):
    return [by_size(record, library) for record in middles(library)]


def asked(task, library, slope=0.0, n=8):
    """Return by axis what a task asks, at the usual speed and at least; nothing where it cannot be sized."""
    place = Place("a place", slope=exact(slope), texture=Choice(("medium",)))
    sizing = size_job(JobSheet(place, (task,)), library, Draws(n))
    found = {}
    for task_asked in sizing.tasks:
        for demand in task_asked.demands:
            found[demand.axis] = (demand.alpha, demand.beta)
            found[f"{demand.axis}, at least"] = demand.least
            if demand.axis == "pto_power":
                found["middle"] = np.median(of_guide_mass(sizing.setting, demand)), 0.0
    return found


def never_less(more, less, what):
    """On every axis, for any tractor, nothing of the first asks less than the second."""
    if not more:
        return
    for axis, (alpha, beta) in less.items():
        for mass in (0.0, 1.0, 4000.0):
            first, second = more[axis][0] + more[axis][1] * mass, alpha + beta * mass
            assert np.all(first >= second * (1 - 1e-9) - 1e-9), f"{what}: {axis}"


def grown(task, key, factor) -> Callable[..., Task]:
    """Return a task with one of its sizes, its speed or its depth so many times as large."""
    return replace(task, **{key: exact(getattr(task, key).low * factor)})


@FEW
@given(which=whichever, other=whichever, factor=st.floats(1.02, 1.8))
def test_a_larger_size_never_asks_less(library, tasks, which, other, factor):
    """A wider, longer, fuller or thicker machine of any family and build never asks less on any axis."""
    task = tasks[which % len(tasks)]
    keys = [key for key in (SHEET_NAME.get(name, name) for name in SIZES) if getattr(task, key) is not None]
    if not keys:
        return
    key = keys[other % len(keys)]
    never_less(asked(grown(task, key, factor), library), asked(task, library), f"{task.family}: more {key}")


@FEW
@given(which=whichever, key=st.sampled_from(("speed_km_h", "depth_m")), factor=st.floats(1.02, 1.6))
def test_faster_or_deeper_work_never_asks_less(library, tasks, which, key, factor):
    """Faster, and deeper, work of any family and build never asks less on any axis."""
    task = tasks[which % len(tasks)]
    usual = {"speed_km_h": library.families[task.family].speed_typical_km_h, "depth_m": 0.1}[key]
    if usual is None:
        return
    task = replace(task, **{key: exact(0.8 * usual)})
    never_less(asked(grown(task, key, factor), library), asked(task, library), f"{task.family}: more {key}")


@pytest.mark.ci
@FEW
@given(which=whichever, key=st.sampled_from(sorted(STEPS)))
def test_heavier_going_never_asks_less(library, tasks, which, key):
    """Thicker growth and a fuller pace never ask less of any family and build."""
    task = tasks[which % len(tasks)]
    of_steps = [asked(replace(task, **{key: word}), library) for word in STEPS[key]]
    for less, more in pairwise(of_steps):
        never_less(more, less, f"{task.family}: {key}")


@FEW
@given(which=whichever, slope=st.floats(0.0, 0.15), more=st.floats(0.001, 0.1))
def test_steeper_ground_never_asks_less(library, tasks, which, slope, more):
    """Steeper ground never asks less of any family and build."""
    task = tasks[which % len(tasks)]
    never_less(asked(task, library, slope + more), asked(task, library, slope), f"{task.family}: steeper")


@pytest.mark.ci
def test_naming_a_machine_gives_about_what_its_family_and_size_give(library):
    """In the middle of a family's records the power, lift and pull of its size lie within 10 % of the record's own."""
    off = {}
    for family in library.families:
        ratios = {}
        for record in library.of_family(family):
            named = asked(Task("t", family, record.implement_id), library, n=1)
            sized = asked(by_size(record, library), library, n=1)
            for axis in named.keys() & sized.keys() & {"middle", "rear_lift", "tow_mass", "drawbar_pull"}:
                of_name, of_size = named[axis][0], sized[axis][0]
                ratios.setdefault(axis, []).append(float(np.median(of_size) / np.median(of_name)))
        for axis, found in ratios.items():
            if len(found) >= 5 and family not in OF_SINGLE_RECORDS and library.families[family].first_variable:
                middle = float(np.median(found))
                if abs(middle - 1) > 0.10:
                    off[family, axis] = middle
    assert not off
