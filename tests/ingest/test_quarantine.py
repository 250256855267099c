"""Refused rows: given back to be corrected, ingested again, and gone from the quarantine once they came again."""

import csv
import io
import json

import pytest

from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.store import batches, quarantine
from evener.schema.store import connection as store

GOOD = "S1,Utility,4wd,shuttle,73,62,6950,2,3900,5400"
WRONG = "S2,Utility,4wd,shuttle,73,82,6950,2,3900,5400"
RIGHT = WRONG.replace("73,82", "73,62")
RAGGED = "S3,Utility,4wd"


@pytest.fixture
def waiting(path):
    """The rows that wait to be corrected."""

    def read(batch_id=None):
        with store.open_read(path) as con:
            return quarantine.waiting(con, batch_id)

    return read


def names(rows):
    """Where the waiting rows come from."""
    return [(row.batch_id, row.file_row) for row in rows]


def to_correct(rows, **changed):
    """The list for correction as CSV, with cells changed in every row."""
    out = io.StringIO()
    lists = [{**row.to_correct(), **changed} for row in rows]
    writer = csv.DictWriter(out, list(dict.fromkeys(name for one in lists for name in one)), restval="")
    writer.writeheader()
    writer.writerows(lists)
    return out.getvalue()


def test_refused_rows_come_back_under_their_headings(load, waiting):
    """A refused row is given back with its cells under their headings, and what is wrong with it before them."""
    report = load(GOOD, WRONG, RAGGED)
    wrong, ragged = waiting()
    listed = wrong.to_correct()
    assert listed["evener batch"] == report.batch_id
    assert listed["evener line"] == "3"
    assert "pto_power_kw" in listed["evener finding"]
    assert (listed["Stock #"], listed["PTO hp"]) == ("S2", "82")
    assert list(ragged.to_correct().values())[4:7] == ["S3", "Utility", "4wd"]
    assert set(ragged.to_correct()) == set(listed)
    assert list(wrong.as_dict()) == ["batch_id", "record", "file", "row", "raw", "findings"]


def test_cells_beyond_the_headings_are_not_lost(load, waiting):
    """A row with too many cells gives back those that stand under no heading."""
    load(GOOD + ",x,y")
    (row,) = waiting()
    assert row.to_correct()["evener cells beyond"] == "x | y"


@pytest.mark.ci
def test_a_corrected_list_is_read_as_its_file_was(path, tmp_path, waiting):
    """Corrected cells load with the file's own mapping, decimal mark, owner and kind, and nothing waits any more."""
    file = tmp_path / "list.csv"
    file.write_text("Nr;Label;HP;Weight\n;;;t\nS1;a;62,5;3,15\nS2;;62,5;3,15\nS3;;61;2,834\n")
    mapping = FileMapping({"HP": Choice("engine_power_kw", "PS", "gross")})
    first = batches.ingest_file(path, file, kind="member", owner="Third Neighbour", mapping=mapping)
    assert (first.loaded, first.quarantined) == (1, 2)
    corrected = tmp_path / "corrected.csv"
    corrected.write_text(to_correct(waiting(), Label="c"))
    report = batches.ingest_file(path, corrected)
    assert [finding.id for finding in report.findings] == []
    assert (report.loaded, report.quarantined) == (2, 0)
    assert waiting() == []
    with store.open_read(path) as con:
        tractors = store.read_tractors(con, ["member"])
    assert {one.owner for one in tractors} == {"Third Neighbour"}
    assert {one.engine_power_kind for one in tractors} == {"gross"}
    held = {one.tractor_id: (one.mass_kg, one.engine_power_kw) for one in tractors}
    assert held["S3"] == pytest.approx((2834.0, 61 * 0.73549875))


@pytest.mark.ci
def test_the_file_itself_corrected_settles_its_rows(load, waiting):
    """The whole file again, with the row put right, leaves nothing waiting; a row still wrong waits once."""
    load(GOOD, WRONG, "S4,Utility,4wd,shuttle,73,92,6950,2,3900,5400")
    second = load(GOOD, RIGHT, "S4,Utility,4wd,shuttle,73,92,6950,2,3900,5400")
    assert (second.unchanged, second.loaded, second.quarantined) == (1, 1, 1)
    assert names(waiting()) == [(second.batch_id, 4)]


@pytest.mark.ci
def test_rows_without_a_name_are_settled_by_the_newer_file(load, waiting):
    """A row that has no name to know it by waits until a newer file of the same name comes."""
    load(GOOD, RAGGED, ",Utility,4wd,shuttle,73,62,6950,2,3900,5400")
    assert len(waiting()) == 2
    load("S9" + GOOD[2:], name="other.csv")
    assert len(waiting()) == 2
    load(GOOD, RIGHT)
    assert waiting() == []


@pytest.mark.ci
def test_another_owners_file_settles_nothing(load, waiting):
    """The same name in the file of another owner is another machine."""
    load(GOOD, WRONG, owner="North yard")
    load(RIGHT, owner="South yard", name="south.csv")
    assert len(waiting()) == 1


@pytest.mark.ci
def test_the_same_file_again_waits_as_before(load, waiting):
    """Ingesting a file with refused rows again changes nothing about them."""
    load(GOOD, WRONG)
    before = waiting()
    load(GOOD, WRONG)
    assert waiting() == before


@pytest.mark.ci
def test_only_the_rows_of_one_ingest(load, waiting):
    """The rows of one ingest can be asked for alone."""
    first, second = load(WRONG), load("S5" + WRONG[2:], name="more.csv")
    assert names(waiting(first.batch_id)) == [(first.batch_id, 2)]
    assert names(waiting(second.batch_id)) == [(second.batch_id, 2)]


def test_what_no_field_takes_is_kept_with_its_row(load, rows_of):
    """Columns that mean nothing to a record are kept as text for the rows that were loaded, where they speak."""
    header = "Stock #,Description,Engine net hp,Colour,Remark of the driver"
    load("S1,Utility,73,green,", "S2,Utility,73,,", "S3,Utility,73,red,pulls left", header=header)
    kept = rows_of("unplaced")
    assert [(row["file_row"], json.loads(row["raw"])) for row in kept] == [
        (2, {"Colour": "green"}),
        (4, {"Colour": "red", "Remark of the driver": "pulls left"}),
    ]
    load("S1,Utility,73,green,", "S3,Utility,74,red,pulls right", header=header)
    assert len(rows_of("unplaced")) == 3
