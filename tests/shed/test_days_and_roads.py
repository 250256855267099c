"""The days of a season, the table of workable days, and the roads between homes."""

import csv
import datetime as dt
from importlib import resources

import pytest

from evener.schema.shed import Member, Shed
from evener.scoring.shed.calendar import Days, regions, workable
from evener.scoring.shed.travel import NoRoad, Roads

HOUSE = resources.files("evener.scoring.shed")


def shed(**said):
    members = (Member("A", at_km=(0.0, 0.0)), Member("B", at_km=(3.0, 4.0)), Member("C"))
    return Shed("Quince", members, first=dt.date(2027, 6, 1), last=dt.date(2027, 6, 30), **said)


def test_sundays_are_kept_unless_said():
    """The 6th of June 2027 is a Sunday: it has no hours, and has them where Sundays are worked."""
    june = (dt.date(2027, 6, 1), dt.date(2027, 6, 30), 9.0)
    assert Days(*june).lengths()[4:7] == (9.0, 0.0, 9.0)
    assert set(Days(*june, sundays=True).lengths()) == {9.0}
    assert Days(*june).worked_between(0, 29) == 26


def test_every_row_of_workable_days_has_a_source():
    """Each share lies between its poor and its good year, and names a source that the list of sources has."""
    text = HOUSE.joinpath("sources.csv").read_text(encoding="utf-8")
    known = {row["source_id"] for row in csv.DictReader(text.splitlines())}
    for region in regions():
        for month in range(1, 13):
            row = workable(region, month)
            assert 0 < row.low <= row.share <= row.high <= 1
            assert row.source_id in known
            assert row.status in {"published", "practice"}


def test_the_printed_days_of_april_and_may_are_met():
    """Of the 41 days from 10 April to 20 May 20 were worked on average, 9.2 in the worst of years, 31.7 in the best.

    Source: farmdoc FEFO 10-11 (2010), University of Illinois, text of page 1.
    """
    april = workable("illinois_central", 4)
    assert april.share * 41 == pytest.approx(20, abs=0.5 * 41 / 100 + 0.5)
    assert april.low * 41 == pytest.approx(9.2, abs=0.005 * 41)
    assert april.high * 41 == pytest.approx(31.7, abs=0.005 * 41)


def test_roads_are_as_said_else_straight_by_the_factor():
    """Three and four km are five in a straight line and six and a half by road; a stated road stands."""
    assert Roads(shed()).km("A", "B") == pytest.approx(6.5)
    assert Roads(shed(road_km=(("B", "A", 9.0),))).km("A", "B") == 9.0
    with pytest.raises(NoRoad):
        Roads(shed()).km("A", "C")


def test_a_trip_fetches_the_machine_and_brings_it_home():
    """From A by B's machine to A's field and back is twice the road there and back; a towed one slows it."""
    roads = Roads(shed())
    trip = roads.trip("A", "B", "A")
    assert (trip.km, trip.hours) == (pytest.approx(26.0), pytest.approx(26.0 / 25.0))
    assert roads.trip("A", "B", "A", pace_km_h=13.0).hours == pytest.approx(2.0)
    assert roads.trip("A", None, "A").km == 0.0
