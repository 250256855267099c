"""Filters of `evener rank`: what each takes out, and the best of it."""

import json
from dataclasses import replace

import pytest

import evener as evener_library
from evener.enquiry.filters import filters, passes
from evener.enquiry.holdings import Holdings
from evener.enquiry.of_sheet import of_sheet
from evener.enquiry.refused import WrongUse
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ranking.filtered import filtered
from evener.schema.money import Money
from evener.schema.records import JobSheet, Place, Tractor

UNIT = Tractor(
    "S-1",
    "stock",
    "a unit",
    drive="4wd",
    price=20000.0,
    model_year=2015,
    meter_hours_h=2500.0,
    loader_lift_kg=900.0,
    overall_width_m=1.8,
    overall_height_m=2.5,
)


@pytest.mark.parametrize(
    ("asked", "passes"),
    [
        ({"price_up_to": 20000.0}, True),
        ({"price_up_to": 19999.0}, False),
        ({"year_from": 2015}, True),
        ({"year_from": 2016}, False),
        ({"hours_up_to": 2500.0}, True),
        ({"hours_up_to": 2000.0}, False),
        ({"drive": "4WD"}, True),
        ({"drive": "2wd"}, False),
        ({"loader": True}, True),
        ({"loader": False}, False),
        ({"width_up_to": "6 ft"}, True),
        ({"width_up_to": "5 ft 6 in"}, False),
        ({"height_up_to": "2.5 m"}, True),
        ({"height_up_to": "8 ft"}, False),
        ({"where": {"x > 1": ["S-1"]}}, True),
        ({"where": {"x > 1": []}}, False),
    ],
)
def test_a_filter_keeps_what_it_says(asked, passes):
    """Each filter goes by its own figure, its bound included."""
    (one,) = filters(**asked)
    assert one.keeps(UNIT) is passes


def test_what_is_not_stated_is_no_reason_to_drop_a_unit():
    """A record that does not say is neither in nor out, so that it is kept and counted."""
    for asked in ({"price_up_to": 1.0}, {"year_from": 2030}, {"hours_up_to": 1.0}, {"width_up_to": "1 m"}):
        assert filters(**asked)[0].keeps(Tractor("S-2", "stock", "bare")) is None


def test_a_width_in_no_unit_is_wrong_use():
    """A bare number for a width is refused with what to write."""
    with pytest.raises(WrongUse, match="width-up-to"):
        filters(width_up_to="6")


@pytest.mark.ci
def test_each_filter_tells_what_it_removed_and_the_best_of_it(evener, sheet, library_store):
    """With the pick filtered away the answer is another, and the filter names the pick it took."""
    store = evener_library.open(library_store)
    first = store.rank(sheet)
    power = first.choice.pick.pto_power
    limited = store.rank(sheet, where=f"pto_power_kw < {power - 0.1}")
    assert limited.pick != first.pick
    (told,) = limited.filters
    assert told.best_removed == first.pick
    assert told.removed == first.ranked - limited.ranked
    ran = evener("rank", sheet, "--where", f"pto_power_kw < {power - 0.1}", "--format", "json")
    assert json.loads(ran.stdout) == json.loads(json.dumps(limited.to_dict()))
    printed = evener("rank", sheet, "--where", f"pto_power_kw < {power - 0.1}").stdout
    assert f"removed {told.removed}; the best of them {first.pick}" in " ".join(printed.split())


def test_gate_shed_and_budget_of_the_sheet_hold_a_tractor_back(library, classes):
    """Gate, shed and budget are filters like any other; a price nobody states is estimated, and that is told."""
    text = (
        '[place]\nname = "Narrow"\ngate = "6 ft"\nshed = "8 ft"\n[[task]]\nname = "mow"\nfamily = "finish mower"\n'
        'width = "5 ft"\n[prices]\nbudget = "$30,000"\n'
    )
    job, findings = read_jobsheet_text(text, Holdings(library, tuple(classes)).words)
    assert (findings, job.money.budget) == ([], 30000.0)
    only = of_sheet(job, library, classes)
    kept = [one for one in classes if passes(only, one)]
    assert kept
    assert max(one.overall_width_m for one in kept) <= 6 * 0.3048 < max(one.overall_width_m for one in classes)
    assert max(one.overall_height_m for one in kept) <= 8 * 0.3048 < max(one.overall_height_m for one in classes)
    assert not passes(only, replace(kept[0], price=30001.0))
    assert passes(only, replace(kept[0], price=30000.0))
    told = filtered(only, classes)[0]
    assert 0 < told.removed == told.by_estimate < len(classes)
    assert told.best_removed
    assert filtered(only, [replace(kept[0], price=30001.0)])[0].by_estimate == 0


def test_a_budget_below_every_estimate_leaves_a_plan_and_says_so(library, classes):
    """Where no tractor is within it, and that by estimates, only stated prices are held to a budget."""
    job = JobSheet(Place("Small Purse"), (), money=Money(budget=3000.0))
    (only,) = of_sheet(job, library, classes)
    assert "only stated prices are held to it" in only.words
    assert [only.keeps(one) for one in classes] == [None] * len(classes)
    assert only.keeps(UNIT) is False
    (dear,) = of_sheet(job, library, [UNIT])
    assert dear.keeps(UNIT) is False
    assert "only" not in dear.words
