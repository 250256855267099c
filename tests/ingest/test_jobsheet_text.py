"""A job sheet that is written reads back to the same job."""

from dataclasses import replace
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.text import write_jobsheet
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.records import Choice, JobSheet, LandUse, OwnedMachine, Place, Policy, Quantity, Task, Tractor

WORDS = Vocabulary(
    {"rotary_cutter": ("Rotary cutter",), "bale_spear": ("Bale spear",), "small_square_baler": ()},
    implements={"rotary-cutter-11": "rotary_cutter"},
    tractors={"utility-50-4wd"},
)


def without_lines(job):
    """Return a job without the lines and the file it came from."""
    return replace(
        job,
        path="",
        tasks=tuple(replace(task, line=None) for task in job.tasks),
        machines=tuple(replace(machine, line=None) for machine in job.machines),
    )


def read_back(job):
    """Return the job that reading what was written gives."""
    again, findings = read_jobsheet_text(write_jobsheet(job), WORDS)
    assert findings == []
    return without_lines(again)


EVERYTHING = """
[place]
name = 'Top "Farm"'
slope = "rolling"
soil = "firm or soft"
altitude = "-3 m"
animals = { cattle = 40, sheep = 3 }
snow_days = "20 days"
[[place.land]]
use = "pasture"
area = "about 22 ha"
[[task]]
name = "Clear"
family = "rotary cutter"
width = "8 ft"
stems = "1 to 3 in"
land = "pasture"
area = "5 ac"
growth = "normal or thick"
pace = "?"
times = 2
[[task]]
name = "Feed"
family = "bale spear"
bale = "4x4 to 4x5 ft"
crop = "hay or silage"
attachment = "loader"
stack = "2 or 3 high"
hours = 40
when = "planned"
chance = "30 %"
year = 2027
[[task]]
name = "Stack"
family = "bale spear"
bale = "3x3 ft square"
[[task]]
name = "Bale"
family = "small square baler"
bale_height = "14 in"
bale_width = "?"
[[task]]
name = "Cut"
implement = "rotary-cutter-11"
drive = "4wd"
slope = "1 in 10"
[[tractor]]
label = "old"
pto_power = "about 30 hp"
mass = "3,000 lb"
pto_speed = "540 and 1000"
hitch_category = "1N"
takes = ["Feed"]
[[tractor]]
label = "new"
tractor = "utility-50-4wd"
implement = "rotary-cutter-11"
[policy]
rule = "sure"
confidence = "85 %"
units = "metric"
"""


def test_everything_a_sheet_can_say_is_written_as_it_was_typed():
    """Every key comes back with its value, and quantities in the customer's own words."""
    job, findings = read_jobsheet_text(EVERYTHING, WORDS)
    assert findings == []
    assert read_back(job) == without_lines(job)
    text = write_jobsheet(job)
    for typed in ('"about 22 ha"', '"1 to 3 in"', '"4x4 to 4x5 ft"', '"3x3 ft square"', '"2 or 3 high"', '"1 in 10"'):
        assert typed in text


@pytest.mark.parametrize("name", ["ridge", "seldom_dry", "little_elsewhere", "further_than_it_looks"])
def test_demo_sheets_are_written_and_read_back(name, library_store):
    """The demo sheets survive being written."""
    from evener.schema.store import connection as store

    with store.open_read(library_store) as con:
        families = store.read_families(con).values()
        implements = {one.implement_id: one.family for one in store.read_implements(con)}
    words = Vocabulary.of(families, implements=implements)
    text = resources.files("evener.demo_db").joinpath("jobs", f"{name}.toml").read_text(encoding="utf-8")
    job, findings = read_jobsheet_text(text, words)
    assert findings == []
    again, findings = read_jobsheet_text(write_jobsheet(job), words)
    assert findings == []
    assert without_lines(again) == without_lines(job)


SIZES = st.floats(min_value=0.5, max_value=1.5)


def quantities(size):
    """Return quantities without words, from one size."""
    return st.sampled_from(
        [
            Quantity(size, size, "exact"),
            Quantity(size, size * 1.5, "range"),
            Quantity(None, None, "unknown"),
        ]
    )


@settings(deadline=None, max_examples=60)
@given(
    st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=20),
    SIZES.flatmap(quantities),
    SIZES.flatmap(quantities),
    st.sampled_from([("normal",), ("light", "thick"), ("light", "normal", "thick")]),
    st.none() | st.floats(0.01, 1.0),
)
def test_a_sheet_that_was_never_typed_is_written_in_si(name, width, other, growth, chance):
    """A job made by a program is written in SI and reads back with the same numbers."""
    task = Task(
        name,
        "rotary_cutter",
        width_m=width,
        bale_width_m=other,
        bale_diameter_m=width,
        growth=Choice(growth),
        planned=chance is not None,
        chance=chance or 1.0,
    )
    described = Tractor("owned-1", "member", name, mass_kg=2000.5, source_id="customer")
    job = JobSheet(
        place=Place(name, (LandUse("hay", Quantity(3.5, 3.5, "exact")),), slope=Quantity(0.25, 0.5, "range")),
        tasks=(task,),
        machines=(OwnedMachine(name, tractor=described),),
        policy=Policy(rule="sure", confidence=0.75),
    )
    again = read_back(job)
    back = again.tasks[0]
    for field in ("width_m", "bale_width_m", "bale_diameter_m"):
        said, read = getattr(task, field), getattr(back, field)
        assert (said.low, said.high, said.given) == (read.low, read.high, read.given)
    assert (back.name, back.planned, back.chance) == (task.name, task.planned, task.chance)
    assert set(back.growth.among) == set(growth)
    assert (again.place.slope.low, again.place.slope.high) == (0.25, 0.5)
    assert again.machines == job.machines
    assert again.policy == job.policy
