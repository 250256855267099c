"""What must hold of every ranking, whatever the job."""

from dataclasses import replace

import answers
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evener.schema.records import JobSheet, Place, Quantity, Task
from evener.scoring.decision.sizing import size_job
from evener.scoring.ratings.family_model import model_of

FEW = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
CAPACITIES = ("pto_power_kw", "hitch_lift_610_kg", "loader_lift_kg", "loader_height_m")


def exact(value):
    return Quantity(value, value, "exact")


def between(low, high):
    return Quantity(low, high, "range")


widths = st.floats(1.3, 4.5)
stems = st.tuples(st.floats(0.012, 0.05), st.floats(1.0, 3.0)).map(lambda pair: between(pair[0], pair[0] * pair[1]))
slopes = st.floats(0.0, 0.2)


def job(width, stem, slope, load=400.0):
    tasks = (
        Task("cut", "rotary_cutter", attachment="mounted", width_m=exact(width), stem_m=stem),
        Task("lift", "pallet_fork", load_kg=between(load, load * 1.3), lift_height_m=exact(2.0)),
        Task("spray", "mounted_sprayer", tank_l=exact(400.0)),
    )
    return JobSheet(Place("a place", slope=exact(slope)), tasks)


def margins(sizing, tractor, classes):
    one = sizing.score([tractor], classes)[0]
    return one.adequacy, [axis.margin for task in sizing.detail(one.offer) for axis in task.axes]


@pytest.mark.ci
@FEW
@given(width=widths, stem=stems, slope=slopes, field=st.sampled_from(CAPACITIES), more=st.floats(1.0, 2.0))
def test_more_capacity_never_lowers_anything(library, classes, width, stem, slope, field, more):
    """More of any capacity never lowers adequacy or any margin."""
    model = next(one for one in classes if one.tractor_id == "utility-50-4wd")
    better = replace(model, **{field: getattr(model, field) * more})
    if field == "hitch_lift_610_kg":
        better = replace(better, hitch_lift_ends_kg=model.hitch_lift_ends_kg * more)
    sizing = size_job(job(width, stem, slope), library)
    first, second = (margins(sizing, one, classes) for one in (model, better))
    assert second[0] >= first[0]
    assert all(b >= a - 1e-12 for a, b in zip(first[1], second[1], strict=True))


@FEW
@given(width=widths, stem=stems, slope=slopes, load=st.floats(100, 900), more=st.floats(1.0, 2.0))
def test_a_heavier_task_never_raises_anything(library, classes, width, stem, slope, load, more):
    """A wider cut, a steeper slope or a heavier load never raises adequacy or any margin."""
    model = next(one for one in classes if one.tractor_id == "utility-50-4wd")
    light = size_job(job(width, stem, slope, load), library)
    heavy = size_job(job(width * more, stem, slope * more, load * more), library)
    first, second = (margins(sizing, model, classes) for sizing in (light, heavy))
    assert second[0] <= first[0] + 1e-12
    assert all(b <= a + 1e-12 for a, b in zip(first[1], second[1], strict=True))


@pytest.mark.ci
@settings(FEW, max_examples=6)
@given(width=widths, stem=stems, slope=slopes, order=st.permutations([0, 1, 2]))
def test_the_order_of_tasks_and_tractors_does_not_matter(library, classes, width, stem, slope, order):
    """Tasks and tractors in any order give the same ranking."""
    first = job(width, stem, slope)
    turned = replace(first, tasks=tuple(first.tasks[i] for i in order))
    one = answers.rank(first, library, classes, top=30)
    other = answers.rank(turned, library, classes[::-1], top=30)
    shown = [
        [(row["tractor_id"], round(row["fit"], 6), round(row["adequacy"], 9)) for row in answer["tractors"]]
        for answer in (one, other)
    ]
    assert shown[0] == shown[1]


@pytest.mark.ci
@FEW
@given(width=widths, stem=stems, slope=slopes, gone=st.integers(0, 21))
def test_an_irrelevant_tractor_changes_nothing(library, classes, width, stem, slope, gone):
    """Leaving one unit out changes no other unit's score."""
    units = [replace(one, kind="stock", tractor_id=f"S-{one.tractor_id}") for one in classes]
    sizing = size_job(job(width, stem, slope), library)
    whole = {one.offer.tractor.tractor_id: (one.adequacy, one.shares) for one in sizing.score(units, classes)}
    fewer = sizing.score([unit for i, unit in enumerate(units) if i != gone], classes)
    assert all(whole[one.offer.tractor.tractor_id] == (one.adequacy, one.shares) for one in fewer)


def test_steps_of_the_middle_case_can_be_redone(library, classes):
    """The printed steps of a cutter's power, redone by hand from their inputs, give the demand they end in."""
    import math

    sheet = job(2.0, between(0.02, 0.06), 0.10)
    tasks = answers.explain(sheet, library, classes, "utility-50-4wd")["tasks"]
    power = next(one for one in tasks if one["task"] == "cut" and one["axis"] == "pto_power")
    line = model_of(library, "rotary_cutter").quantities["power"]
    # Stems of 20 to 60 mm are what medium machines are built for, 2 in.
    effects = line.effects("build")["mounted"] + line.effects("duty")["medium"]
    rating = math.exp(line.grown([2.0, 0.0508])[0] + effects)
    climb = next(step for step in power["steps"] if step.get("method") == "moving.grade_on_top")["inputs"]
    ratio = next(step for step in power["steps"] if step.get("method") == "power_flow.pto_from_drawbar")["inputs"]
    hill = 9.80665 * math.sin(math.atan(0.10)) * 6.0 / 3.6 / 1000 / ratio["ratio"]["value"]
    assert climb["P_level"]["value"] == pytest.approx(rating, rel=1e-9)
    assert climb["p_grade"]["value"] == pytest.approx(hill, rel=1e-9)
    tractor = next(one for one in classes if one.tractor_id == "utility-50-4wd")
    assert power["middle"] == pytest.approx(rating + hill * (climb["m"]["value"] + tractor.mass_kg), rel=1e-9)
