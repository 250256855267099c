"""A record that got another id is still found by the one it had."""

import csv
from importlib import resources

import pytest

from evener.schema import former_ids

ROWS = list(csv.DictReader(resources.files("evener.schema").joinpath("former_ids.csv").read_text("utf-8").splitlines()))


@pytest.fixture
def renamed(monkeypatch):
    """Two changes of one id, one of another."""
    table = {"old": ("middle",), "middle": ("old", "new"), "new": ("middle",), "x-1": ("spear",), "spear": ("X-1",)}
    monkeypatch.setattr(former_ids, "pairs", lambda: table)


def shipped(file, column):
    """Return the ids of a library file."""
    text = resources.files("evener.schema").joinpath("library", file).read_text("utf-8")
    return {row[column] for row in csv.DictReader(text.splitlines())}


@pytest.mark.parametrize(
    ("said", "ids", "meant"),
    [
        ("old", {"new"}, "new"),
        ("new", {"old"}, "old"),
        ("X-1", {"spear"}, "spear"),
        ("old", {"old", "new"}, "old"),
        ("nothing", {"new"}, "nothing"),
    ],
)
def test_an_id_is_found_by_any_it_had(renamed, said, ids, meant):
    """A former id finds the record, a new one finds it in an old store, a record of today comes first."""
    assert former_ids.found(said, ids) == meant


def test_every_row_leads_to_a_shipped_record_and_shadows_none():
    """No former id is the id of a record of today, and each leads to one."""
    today = shipped("tractor_classes.csv", "tractor_id") | shipped("implement_records.csv", "implement_id")
    former = {row["former_id"] for row in ROWS}
    assert not former & today
    assert len(former) == len(ROWS)
    assert {former_ids.found(one, today) for one in former} <= today
