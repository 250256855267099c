"""Shed files: every mistake with its line and remedy, and a shed of what is right."""

import datetime as dt

import pytest

from evener.enquiry.sheds import read_shed
from evener.opening import open_store

SHEET = """
[place]
name = "Quince Hollow"

[[place.land]]
use = "hay"
area = "10 ha"

[[task]]
name = "mow"
family = "disc mower"
width = "2.4 m"
land = "hay"

[[task]]
name = "bale"
family = "round baler"
land = "hay"
yield = "3 t/ha"
"""
RIGHT = """
[shed]
name = "Quince"
from = 2027-06-01
to = 2027-07-31

[[member]]
name = "A"
sheet = "a.toml"
at = [0, 0]
drivers = 2

[[member]]
name = "B"
at = [3, 4.5]
hours_owed = "-4 h"

[[road]]
between = ["A", "B"]
miles = 10

[[window]]
member = "A"
task = "Mow"
from = 2027-06-07
to = 2027-06-12
days = 4

[[window]]
member = "A"
task = "mow"
from = 2027-07-07
to = 2027-07-12

[[window]]
member = "A"
task = "bale"
after = "mow"
from = 2027-06-08
to = 2027-06-14
"""


@pytest.fixture(scope="module")
def held(library_store):
    """The library's records."""
    return open_store(library_store).holdings


@pytest.fixture
def read(tmp_path, held, library_store):
    """Read a shed of one text beside a sheet."""

    def run(text):
        (tmp_path / "a.toml").write_text(SHEET, encoding="utf-8")
        (tmp_path / "shed.toml").write_text(text, encoding="utf-8")
        return read_shed(tmp_path, held, library_store)

    return run


def ids(found):
    return {one.id for one in found.findings if one.refuses}


def test_a_right_shed_is_read(read):
    """Members, roads in miles, hours owed and two times of one task come out as they were written."""
    found = read(RIGHT)
    assert not ids(found)
    shed = found.usable()
    first, second = shed.members
    assert (first.name, first.drivers, second.hours_owed_h) == ("A", 2, -4.0)
    assert shed.road_km == (("A", "B", pytest.approx(16.09344)),)
    assert [(one.task, one.first.month, one.after) for one in first.windows] == [
        ("mow", 6, None),
        ("mow", 7, None),
        ("bale", 6, "mow"),
    ]
    assert first.windows[0].workable_days == 4.0
    assert shed.first == dt.date(2027, 6, 1)


@pytest.mark.parametrize(
    ("wrong", "right", "kind", "line"),
    [
        ("from = 2027-06-01", 'from = "1/6/2027"', "shed-date", 4),
        ("to = 2027-07-31", "to = 2027-05-31", "shed-dates", 5),
        ('name = "B"', 'name = "A"', "shed-twice", 14),
        ('between = ["A", "B"]', 'between = ["A", "C"]', "shed-unknown-member", 19),
        ("miles = 10", "", "sheet-missing-key", 18),
        ('task = "Mow"', 'task = "Mown"', "shed-unknown-task", 24),
        ("to = 2027-06-12", "to = 2027-06-01", "shed-dates", 22),
        ("from = 2027-07-07", "from = 2027-06-12", "shed-twice", 29),
        ('after = "mow"', 'after = "rake"', "shed-unknown-task", 38),
        ("drivers = 2", "drivers = 2.5", "sheet-value", 11),
        ("at = [3, 4.5]", "at = [3]", "sheet-type", 15),
        ('sheet = "a.toml"', 'sheet = "b.toml"', "shed-file", 9),
        ('sheet = "a.toml"', 'shet = "a.toml"', "sheet-unknown-key", 9),
        ('name = "Quince"', 'name = "Quince"\nlists = ["things.csv"]', "shed-file", 4),
        ('name = "Quince"', 'name = "Quince"\nworkable_days = "nowhere"', "sheet-word", 4),
        ("[[road]]", '[[kept]]\nthing = "X"\n[[road]]', "shed-unknown-thing", 19),
        ("[[road]]", '[[veto]]\nmember = "A"\nrefuses = "X"\n[[road]]', "shed-unknown-thing", 20),
    ],
)
def test_each_mistake_is_named_with_its_line(read, wrong, right, kind, line):
    """One mistake gives its finding at its line, with a remedy, and nothing is planned."""
    assert RIGHT.count(wrong) >= 1
    found = read(RIGHT.replace(wrong, right, 1))
    assert found.shed is None
    here = [one for one in found.findings if one.id == kind]
    assert line in {one.row for one in here}, [(one.id, one.row, one.message) for one in found.findings]
    assert all(one.what_to_do for one in here)


def test_homes_without_a_road_are_named(read):
    """Two members without a road and without both coordinates are named together."""
    text = RIGHT.replace("at = [3, 4.5]\n", "").replace('[[road]]\nbetween = ["A", "B"]\nmiles = 10\n', "")
    assert "there is no road between A and B" in {one.message for one in read(text).findings}


def test_a_task_without_dates_is_told_and_not_planned(read):
    """Dates are never guessed: a task without a window is said, and the shed stands."""
    found = read(RIGHT[: RIGHT.rindex("[[window]]")])
    assert found.shed is not None
    assert "A: bale has no [[window]]: it is not planned" in {one.message for one in found.findings}


@pytest.mark.parametrize("text", ["", "[shed", "[[member]]\n", "x = 1", "[shed]\nname = 5", "shed = 3", "member = 3"])
def test_broken_files_are_findings_and_never_faults(read, text):
    """Whatever the text, there are findings and no exception."""
    found = read(text)
    assert found.shed is None
    assert found.findings


def test_what_is_no_file_is_said(held, library_store, tmp_path):
    """A folder without a shed file, and a path that is not there, are refused in words."""
    for path in (tmp_path, tmp_path / "nothing.toml"):
        found = read_shed(path, held, library_store)
        assert "cannot be read" in found.findings[0].message
