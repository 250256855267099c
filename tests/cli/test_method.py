"""`evener method` and the document made of it."""

import csv
import io
import json
from pathlib import Path

import pytest

from evener.scoring.mechanics import methods

HILL = """
[[task]]
name = "plough"
family = "plough"
width = "1 m"

[[task]]
name = "haul"
family = "tipping trailer"
load = "4000 kg"
"""
DOCUMENT = Path(__file__).parents[2] / "docs" / "methods.md"


def test_every_formula_is_listed_with_source_and_validity(evener, answer_schema):
    """The method table has every formula of every chapter, and matches the shipped schema."""
    ran = evener("method", "--format", "json", store=None)
    assert ran.returncode == 0, ran.stderr
    answer = json.loads(ran.stdout)
    answer_schema("method").validate(answer)
    assert [one["formula_id"] for one in answer["methods"]] == list(methods.load_all())
    assert all(one["equation"] and one["source"] and one["valid"] for one in answer["methods"])


def test_the_document_is_the_method_table(evener):
    """docs/methods.md is what the command writes: evener method --format markdown > docs/methods.md."""
    ran = evener("method", "--format", "markdown", store=None)
    assert ran.stdout == DOCUMENT.read_text(encoding="utf-8")


def test_what_no_outside_example_holds_has_a_dash(evener):
    """The table for people marks a formula that no printed example holds by a dash, and names those of others."""
    text = evener("method", "--format", "markdown", store=None).stdout
    lines = {line.split("`")[1]: line for line in text.splitlines() if line.startswith("| `")}
    assert lines["draft.draft"].endswith("| PTO-01 |")
    assert lines["snow.push_force"].endswith("| - |")
    rows = list(csv.DictReader(io.StringIO(evener("method", "--format", "csv", store=None).stdout)))
    assert {row["formula_id"]: row["checks"] for row in rows}["draft.draft"] == "PTO-01"


@pytest.mark.ci
def test_every_step_that_names_a_method_names_one_of_the_table(evener, sheet, classes):
    """A step of explain that rests on a formula of the table names it by its id, and prints its equation or its use."""
    sheet.write_text(sheet.read_text(encoding="utf-8") + HILL, encoding="utf-8")
    answer = json.loads(evener("explain", sheet, "utility-62-4wd", "--format", "json").stdout)
    steps = [step for task in answer["tasks"] for step in (*task["steps"], *task["capacity_steps"])]
    named = {step["method"] for step in steps if "method" in step}
    assert named <= set(methods.load_all())
    assert {"draft.draft", "traction.mobility_number", "tractor_pull.pull_at_slip", "towing.towed_limit"} <= named
    assert {"balance.front_moment_to_spare", "drawbar.total_power", "grade.grade_force"} <= named
    assert {task["axis"] for task in answer["tasks"]} >= {"drawbar_pull", "front_axle", "tow_mass"}


@pytest.mark.ci
def test_rank_says_hours_fixes_and_what_does_not_fit(evener, sheet):
    """The page says what the first tractor needs fitted or would do with, and a task that does not fit its days."""
    text = sheet.read_text(encoding="utf-8").replace('land = "pasture"', 'land = "pasture"\ndays = 1', 1)
    sheet.write_text(text, encoding="utf-8")
    page = evener("rank", sheet, "--full").stdout
    assert "Hours and days" in page
    assert "top the pasture does not fit its days" in page
    assert "A working width of" in " ".join(page.split())
    wide = text.replace('stems = "1 to 3 in"', 'stems = "3 in"').replace('width = "6 ft"', 'width = "10 ft"')
    sheet.write_text(wide, encoding="utf-8")
    assert "needs fitted" in evener("rank", sheet, "--full").stdout
