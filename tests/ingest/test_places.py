"""Columns are settled by their place in the file as well as by heading, which may be blank or stand twice."""

import pytest

from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping, WrongMapping, said_column
from evener.ingest.store import lists, senders
from evener.ingest.text import places
from evener.schema.store import connection as store

# The third column is empty; lifts and powers stand twice under one heading, and a mass under none.
LINES = ("No,Name,,Lift (lb),Lift (lb),HP,HP,", "7,Barn,,3100,2400,55,45,4100", "8,Hill,,5200,4100,90,75,7400")


@pytest.mark.parametrize(
    ("said", "place"),
    [("3", 3), ("column 3", 3), ("Column  C", 3), ("Spalte c", 3), ("column AB", 28), ("C", None), ("0", None)],
)
def test_a_place_is_said_as_spreadsheets_say_it(said, place):
    """A number, or the letter of a spreadsheet with the word column before it; a letter alone is a heading."""
    assert places.place(said) == place


@pytest.mark.ci
def test_columns_are_told_apart_by_their_place(path, tmp_path):
    """Two columns of one heading, and one without, are what is said of their places, in the next list too."""
    columns = dict(
        said_column(one, "tractor")
        for one in (
            "column D=hitch_lift_ends_kg lb",
            "5=hitch_lift_610_kg lb",
            "column 6=",
            "column G=pto_power_kw hp",
            "Spalte H=mass_kg lb",
        )
    )
    mapping = FileMapping(columns)
    for name, given in (("a.csv", mapping), ("b.csv", FileMapping())):
        file = tmp_path / name
        file.write_text("\n".join(LINES) + "\n")
        (report,) = lists.ingest_list(path, file, kind="member", owner="Cold Spring", mapping=given)
        assert {one.id for one in report.findings} <= {"no-heading"}
        assert report.read == 2
    assert report.unchanged == 2
    with store.open_read(path) as con:
        (row,) = [row for row in store.read_rows(con, "tractor") if row["tractor_id"] == "7"]
    pounds = [round(row[name] / 0.45359237) for name in ("hitch_lift_ends_kg", "hitch_lift_610_kg", "mass_kg")]
    assert (pounds, round(row["pto_power_kw"] / 0.7457)) == ([3100, 2400, 4100], 45)
    assert row["engine_power_kw"] is None
    assert "HP (column 7)" in {one.heading for one in senders.remembered(path)}


def test_a_heading_goes_before_a_place(path, tmp_path):
    """A heading that looks like a place is a heading; a place the file has not is told."""
    file = tmp_path / "a.csv"
    file.write_text("No,Name,2,Weight (lb)\n7,Barn,45,4100\n")
    mapping = FileMapping({"2": Choice("pto_power_kw", "hp"), "column Z": Choice("mass_kg")})
    (report,) = lists.ingest_list(path, file, kind="member", mapping=mapping)
    assert report.mapping["2"] == ("pto_power_kw", "hp")
    assert [(one.id, one.column) for one in report.findings] == [("unused-mapping", "column Z")]


@pytest.mark.parametrize("text", ["column C", "=mass_kg", "column C=weight_of_it", "column C=mass_kg stones of old"])
def test_a_column_that_says_nothing_is_refused(text):
    """What names no column, no field or no unit says what to type."""
    with pytest.raises(WrongMapping):
        said_column(text, "tractor")
