"""Taking one ingest back leaves the store as it would be without it."""

import pytest

from evener.ingest.store import batches
from evener.ingest.store.undo import NotUndone, undo
from evener.schema.store import connection as store
from evener.scoring.ratings.refresh import refresh

GOOD = "S1,Utility,4wd,shuttle,73,62,6950,2,3900,5400"
OTHER = "S2,Utility,4wd,shuttle,73,61.7,7050,2,3900,5400"
WRONG = "S3,Utility,4wd,shuttle,73,82,6950,2,3900,5400"
TABLES = ("tractor", "implement", "source", "batch", "quarantine", "unplaced", "history", "rating_model")


@pytest.fixture
def whole(path):
    """All that an ingest may touch."""

    def read():
        with store.open_read(path) as con:
            return {record: store.read_rows(con, record) for record in TABLES}

    return read


def test_nothing_of_an_ingest_stays_behind(load, path, whole):
    """Records, refused rows, kept text, the source and the ingest itself are gone: no ghost rows."""
    before = whole()
    header = "Stock #,Description,Drive,Engine net hp,Colour"
    report = load("S1,Utility,4wd,73,green", "S3,,4wd,73,red", header=header)
    assert whole() != before
    done = undo(path, report.batch_id)
    assert (done.removed, done.restored, done.refused) == (1, 0, 1)
    assert whole() == before


def test_what_was_replaced_comes_back_to_the_last_bit(load, path, whole):
    """A superseded version is the record again, with its own ingest and line, and the later one is gone."""
    load(GOOD, OTHER)
    before = whole()
    report = load(GOOD.replace("6950", "7100"), OTHER.replace("61.7", "about 60"))
    assert report.superseded == 2
    done = undo(path, report.batch_id)
    assert (done.removed, done.restored) == (2, 2)
    assert whole() == before


@pytest.mark.ci
def test_the_middle_of_three_versions(load, path, rows_of):
    """undoing the middle ingest keeps the newest version, and the history leads from the first straight to it."""
    first = load(GOOD, name="a.csv")
    second = load(GOOD.replace("6950", "7000"), name="b.csv")
    third = load(GOOD.replace("6950", "7100"), name="c.csv")
    done = undo(path, second.batch_id)
    assert (done.removed, done.restored) == (0, 0)
    (record,) = [row for row in rows_of("tractor") if row["tractor_id"] == "S1"]
    assert record["batch_id"] == third.batch_id
    (old,) = rows_of("history")
    assert (old["batch_id"], old["superseded_by"]) == (first.batch_id, third.batch_id)
    undo(path, third.batch_id)
    (record,) = [row for row in rows_of("tractor") if row["tractor_id"] == "S1"]
    assert record["batch_id"] == first.batch_id
    assert rows_of("history") == []


@pytest.mark.ci
def test_rows_that_were_settled_wait_again(load, path, rows_of):
    """Taking back the ingest that brought the corrected row puts the refused row back among those that wait."""
    load(GOOD, WRONG)
    corrected = load(GOOD, WRONG.replace("73,82", "73,62"))
    assert [row["settled_by"] for row in rows_of("quarantine")] == [corrected.batch_id]
    assert undo(path, corrected.batch_id).waiting == 1
    assert [row["settled_by"] for row in rows_of("quarantine")] == [None]


@pytest.mark.ci
def test_the_ratings_follow(path, tmp_path, whole):
    """undoing an ingest of implements fits the ratings anew in the same change."""
    before = whole()
    file = tmp_path / "own.csv"
    file.write_text("id,family,label,width (ft),rated PTO power (hp),source_id\nA,tedder,t,10,60,PRACTICE\n")
    report = batches.ingest_file(path, file, record="implements", after=refresh)
    assert whole()["rating_model"] != before["rating_model"]
    undo(path, report.batch_id, after=refresh)
    assert whole() == before


@pytest.mark.ci
def test_what_others_lean_on_stays(path, rows_of, whole):
    """An ingest that the rest of the store leans on cannot be undone; nothing is changed by trying."""
    before = whole()
    for record in ("family", "source", "prior"):
        (batch,) = [row["batch_id"] for row in rows_of("batch") if row["record"] == record]
        with pytest.raises(NotUndone, match=f"would leave no {record}"):
            undo(path, batch)
    assert whole() == before


@pytest.mark.ci
def test_records_that_cite_what_would_go_are_named(path, tmp_path, load, whole):
    """A source that other records cite stays until they are gone."""
    file = tmp_path / "sources.csv"
    file.write_text("source_id,citation,status\nMEADOW,Meadow trial,memory\n")
    added = batches.ingest_file(path, file, record="sources")
    user = load("S1,Utility,73,MEADOW", header="Stock #,Description,Engine net hp,source_id")
    before = whole()
    with pytest.raises(NotUndone, match=r"lean on what B.* source MEADOW"):
        undo(path, added.batch_id)
    assert whole() == before
    undo(path, user.batch_id)
    undo(path, added.batch_id)


def test_an_unknown_ingest_is_said(path):
    """A batch that is not there is wrong use, and names where to look."""
    with pytest.raises(NotUndone, match="evener list batches") as caught:
        undo(path, "B9999")
    assert caught.value.exit_status == 2
    assert not path.with_name("own.duckdb.previous").exists()


@pytest.mark.ci
def test_a_copy_is_kept_before(load, path):
    """Beside the store is its state of before the undo."""
    report = load(GOOD)
    undo(path, report.batch_id)
    with store.open_read(path.with_name("own.duckdb.previous")) as con:
        assert len(store.read_tractors(con, ["stock"])) == 1
