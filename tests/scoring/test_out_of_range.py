"""Numbers a sheet may hold and a formula does not reach: said with formula and range, never a crash or a guess."""

import json
from dataclasses import replace

import answers
import pytest

from evener.schema.records import Choice, JobSheet, LandUse, Place, Quantity, Task

LEVEL = Place("a place", slope=Quantity(0.0, 0.0, "exact"), land=(LandUse("hay", Quantity(5.0, 5.0, "exact")),))


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


PLOUGH = Task("plough", "moldboard_plow", width_m=exact(1.2), depth_m=exact(0.2), speed_km_h=exact(40.0))


def test_a_plough_faster_than_the_draft_table_is_not_sized(library, classes):
    """A plough at 40 km/h is left out of the answer with the range of the draft equation, and nothing is picked."""
    answer = answers.rank(JobSheet(LEVEL, (PLOUGH,)), library, classes)
    (left,) = answer["not_sized"]
    assert "draft.draft: S = 40 [km/h] is outside [0, 25]" in left["why"]
    assert answer["pick"] is None


def test_a_range_that_leaves_a_formula_does_not_stop_explain(library, classes):
    """A speed of 5 to 40 km/h has a middle that can be worked and ends that cannot: explain says it is not sized."""
    task = replace(PLOUGH, speed_km_h=Quantity(5.0, 40.0, "range", "5 to 40 km/h"))
    answer = answers.explain(JobSheet(LEVEL, (task,)), library, classes, "utility-62-4wd")
    assert answer["tasks"] == []
    assert answer["not_sized"][0]["task"] == "plough"


def test_a_load_beyond_the_balance_equations_is_said(library, classes):
    """A loader's load 8 m ahead of its pin has no counterweight to name, and the answer says why."""
    task = Task("carry", "pallet_fork", load_kg=exact(300.0), centre_of_mass_m=exact(8.0))
    answer = answers.rank(JobSheet(LEVEL, (task,)), library, classes)
    assert any("axle loads could not be worked out" in said for said in answer["cautions"])
    assert not any(remedy["kind"] == "counterweight" for row in answer["tractors"] for remedy in row["remedies"])


def test_work_too_fast_for_the_field_capacity_has_no_hours(library, classes):
    """At 55 km/h the field capacity is not worked out, and the task has no hours."""
    task = Task("spread", "spreader_spinner", "spreader-spinner-03", land="hay", speed_km_h=exact(55.0))
    assert answers.rank(JobSheet(LEVEL, (task,)), library, classes)["work"] == []


@pytest.mark.ci
@pytest.mark.parametrize("family", ["moldboard_plow", "tipping_trailer", "front_blade", "pallet_fork", "round_baler"])
@pytest.mark.parametrize("end", ["low", "high"])
def test_answers_at_the_ends_of_what_a_sheet_may_say_hold_no_number_that_is_none(library, classes, family, end):
    """At the least and the largest values of the sheet's keys every answer is plain JSON without NaN or infinity."""
    low = end == "low"
    task = Task(
        "work",
        family,
        width_m=exact(0.3 if low else 40.0),
        depth_m=exact(0.01 if low else 1.2),
        load_kg=exact(1.0 if low else 40000.0),
        machine_mass_kg=exact(5.0 if low else 40000.0),
        centre_of_mass_m=exact(0.0 if low else 8.0),
        speed_km_h=exact(0.2 if low else 60.0),
        bale_width_m=exact(0.2 if low else 2.6),
        bale_diameter_m=exact(0.2 if low else 2.6),
        lift_height_m=exact(0.0 if low else 10.0),
        slope=exact(0.0 if low else 1.0),
        soil=Choice(("soft",)),
    )
    place = replace(LEVEL, altitude_m=exact(-430.0 if low else 6000.0))
    answer = answers.rank(JobSheet(place, (task,)), library, classes, top=30)
    assert json.dumps(answer, allow_nan=False)
    assert len(answer["tractors"]) == 22
