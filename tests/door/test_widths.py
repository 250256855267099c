"""Widths that a sheet leaves open are chosen by what tractor, machine and hours cost together."""

from __future__ import annotations

import pytest

import evener
from evener.enquiry.widths import with_widths

SHEET = """
[place]
name = "Long Acre"
slope = "5 %"
[[place.land]]
use = "pasture"
area = "60 ac"
[[task]]
name = "Top"
family = "rotary cutter"
land = "pasture"
times = 2
{more}
"""


@pytest.fixture
def asked(library_store, tmp_path):
    """Return the enquiry of a sheet with some lines more."""
    store = evener.open(library_store)

    def enquiry(more):
        path = tmp_path / "job.toml"
        path.write_text(SHEET.format(more=more), encoding="utf-8")
        return store.enquiry(path)

    return enquiry


@pytest.mark.ci
def test_days_and_cost_choose_a_width_that_is_open(asked, library_store):
    """With few days the cutter is wider than with many; the answer is that of the sheet that says the width."""
    store = evener.open(library_store)
    chosen = {}
    for days in (3, 30):
        taken, (found,) = with_widths(asked(f'width = "?"\ndays = {days}'))
        chosen[days] = found.width_m
        assert found.width_m in found.tried_m
        assert taken.job.tasks[0].width_m.middle == found.width_m
    assert chosen[3] > chosen[30]
    open_width = store.rank(asked('width = "?"\ndays = 3').job)
    said = store.rank(asked(f'width = "{chosen[3]} m"\ndays = 3').job)
    assert open_width.choice.pick.a_year == pytest.approx(said.choice.pick.a_year)
    assert "chosen by cost" in open_width.choice.machines[0].sizes[0]
    assert open_width.enquiry.job.tasks[0].width_m.given == "unknown"


@pytest.mark.parametrize("more", ['width = "6 ft"', 'width = "5 to 7 ft"', 'width = "?"\nhave = true'])
def test_a_width_that_is_said_or_can_be_measured_is_not_chosen(asked, more):
    """What the customer says, and a machine that is there, stay as they are."""
    enquiry = asked(more)
    taken, found = with_widths(enquiry)
    assert (taken.job, found) == (enquiry.job, ())
