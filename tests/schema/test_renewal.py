"""A store filled with an earlier library gets the rows of the one shipped, and what its owner loaded stays."""

import os
import shutil

import pytest

import evener
from evener.schema.store import connection as store
from evener.schema.store import renewal, shipped
from evener.scoring.ratings.refresh import refresh

pytestmark = pytest.mark.ci

OWN = "tractor_id,kind,label,owner,engine power (hp),mass (kg)\nK-7,stock,blue one,Gable End,40,2100\n"


@pytest.fixture
def earlier(library_store, tmp_path):
    """A store whose library is an earlier one: a row was different, one was not there, one is no more."""
    path = shutil.copy(library_store, tmp_path / "store.duckdb")
    list_of_one = tmp_path / "yard.csv"
    list_of_one.write_text(OWN, encoding="utf-8")
    evener.Store(path).ingest(list_of_one, record="tractors")
    with store.open_write(path) as con:
        con.execute("UPDATE prior SET low = low + 1")
        con.execute("DELETE FROM source WHERE source_id = (SELECT min(source_id) FROM source)")
        con.execute(
            "INSERT INTO tractor BY NAME SELECT * REPLACE ('gone' AS tractor_id) FROM tractor"
            " WHERE kind = 'class' LIMIT 1"
        )
        con.execute("UPDATE store SET library_sha256 = 'earlier'")
    return path


def rows_of(path, record):
    """The rows of a table without the ids and times of ingests."""
    with store.open_read(path) as con:
        rows = store.read_rows(con, record)
    return sorted(
        ({name: row[name] for name in row if name not in ("batch_id", "loaded_at")} for row in rows), key=repr
    )


def test_the_rows_are_those_of_a_new_store(earlier, library_store):
    """Opened, the earlier store holds every row of the shipped library, its owner's record, and nothing else."""
    evener.open(earlier)
    for record in ("prior", "source", "family", "implement"):
        mine = [row for row in rows_of(earlier, record) if "file:" not in str(row.get("source_id"))]
        assert mine == rows_of(library_store, record), record
    own = [row for row in rows_of(earlier, "tractor") if row["kind"] != "class"]
    assert [row["tractor_id"] for row in own] == ["K-7"]
    assert len(rows_of(earlier, "tractor")) == len(rows_of(library_store, "tractor")) + 1
    assert len(rows_of(earlier, "batch")) == len(rows_of(library_store, "batch")) + 1


def test_a_row_its_owner_corrected_stays_corrected(earlier):
    """A library row that the owner's own ingest replaced is not overwritten by the later library."""
    with store.open_write(earlier) as con:
        con.execute(
            "UPDATE implement SET rated_pto_power_kw = 99, batch_id = 'B9000' WHERE implement_id ="
            " (SELECT min(implement_id) FROM implement)"
        )
    evener.open(earlier)
    with store.open_read(earlier) as con:
        first = min(store.read_implements(con), key=lambda one: one.implement_id)
    assert first.rated_pto_power_kw == 99


def test_it_is_done_once_with_a_copy_kept(earlier):
    """The store before is kept beside it whole, and a second opening changes nothing."""
    before = earlier.read_bytes()
    assert renewal.renew(earlier, after=refresh).read_bytes() == before
    assert renewal.renew(earlier, after=refresh) is None


def test_a_second_renewal_finds_the_rows_of_the_first(earlier, library_store):
    """Rows that a renewal brought are the library's: the next one takes them out again."""
    evener.open(earlier)
    with store.open_write(earlier) as con:
        con.execute("UPDATE store SET library_sha256 = 'earlier'")
    evener.open(earlier)
    assert len(rows_of(earlier, "prior")) == len(rows_of(library_store, "prior"))
    assert len(rows_of(earlier, "batch")) == len(rows_of(library_store, "batch")) + 1


def test_other_files_than_those_shipped_renew_nothing(earlier, monkeypatch):
    """Where an expert has corrected the library's files, no store is turned back to the shipped rows."""
    monkeypatch.setattr(shipped, "fingerprint", lambda: "corrected")
    assert renewal.renew(earlier, after=refresh) is None


def test_a_store_that_may_not_be_written_is_refused(earlier, monkeypatch):
    """Where this user may not write, the sentence says why and what to do, and nothing is changed."""
    before = earlier.read_bytes()
    monkeypatch.setattr(os, "access", lambda path, mode: mode != os.W_OK)
    with pytest.raises(store.StoreOutdated, match="Copy it to a folder of your own"):
        evener.open(earlier)
    assert earlier.read_bytes() == before
