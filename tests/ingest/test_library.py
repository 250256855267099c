"""The starting library is built once, whole, by the path of users' files."""

import json
import stat
from pathlib import Path

import pytest

from evener.ingest.files import readers
from evener.ingest.store import library
from evener.schema import fields
from evener.schema.store import connection as store
from evener.schema.store import shipped
from evener.scoring.ratings.refresh import refresh

pytestmark = pytest.mark.ci


def test_a_new_store_is_whole_and_private(library_store):
    """Every library file is a batch of its own, nothing was refused, and the store is the owner's alone."""
    with store.open_read(library_store) as con:
        batches = store.read_rows(con, "batch")
        assert store.read_rows(con, "quarantine") == []
        (made,) = store.read_rows(con, "store")
        assert store.read_rating_models(con)
    assert [batch["file_name"] for batch in batches] == [file.name for _, file in shipped.files()]
    assert all(batch["loaded"] == batch["read"] > 0 for batch in batches)
    assert made["library_sha256"] == shipped.fingerprint()
    assert stat.S_IMODE(library_store.stat().st_mode) == 0o600


def rows_of(path):
    """Every row of every table, but for the time at which it was loaded."""
    with store.open_read(path) as con:
        return {
            record: [{name: value for name, value in row.items() if name != "loaded_at"} for row in rows]
            for record in fields.nomenclature()
            for rows in [store.read_rows(con, record)]
        }


def test_the_built_store_is_what_the_files_make(tmp_path):
    """The store shipped ready is current: to the row what the files give today (after a change, pack it anew)."""
    laid, built = tmp_path / "laid.duckdb", tmp_path / "built.duckdb"
    assert shipped.lay_out(laid), "run: python -m evener.cli.store.pack_library"
    library.build(built, after=refresh)
    ready, made = rows_of(laid), rows_of(built)
    for record, rows in made.items():
        if record == "rating_model":  # another machine's arithmetic may differ in the last digit
            assert [row["family"] for row in ready[record]] == [row["family"] for row in rows]
            for one, other in zip(ready[record], rows, strict=True):
                assert one["spread"] == pytest.approx(other["spread"], rel=1e-6, abs=1e-9)
                for name in ("coefficients", "covariance", "lows", "highs"):
                    assert json.loads(one[name]) == pytest.approx(json.loads(other[name]), rel=1e-6, abs=1e-9)
        else:
            assert ready[record] == rows, f"{record}: run: python -m evener.cli.store.pack_library"


def test_a_built_store_of_other_files_is_left_alone(tmp_path, monkeypatch):
    """Where a file of the library was changed since it was packed, the ready store is not used."""
    monkeypatch.setattr(shipped, "fingerprint", lambda: "another")
    assert not shipped.lay_out(tmp_path / "store.duckdb")
    assert list(tmp_path.iterdir()) == []


def test_a_built_store_takes_nobodys_place(tmp_path):
    """The ready store is not laid over anything, and is the owner's alone where it is laid."""
    path = tmp_path / "new" / "store.duckdb"
    assert shipped.lay_out(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [file.name for file in path.parent.iterdir()] == ["store.duckdb"]
    with pytest.raises(store.StoreForbidden, match="exists already"):
        shipped.lay_out(path)


def test_every_shipped_table_is_loaded():
    """No CSV of the library or reference folders is left out."""
    schema = Path(library.__file__).parents[2] / "schema"
    there = {path.name for folder in ("library", "reference") for path in (schema / folder).glob("*.csv")}
    assert there == {file.name for _, file in shipped.files()}


def test_what_is_there_stays(tmp_path):
    """A library is not built over anything."""
    path = tmp_path / "store.duckdb"
    path.write_text("mine")
    with pytest.raises(store.StoreForbidden, match="exists already"):
        library.build(path)
    assert path.read_text() == "mine"


def test_a_build_that_fails_leaves_nothing(tmp_path, monkeypatch):
    """A library row that the ingest refuses stops the build, names file and line, and leaves no store."""
    read = readers.read_bytes

    def spoiled(content, name):
        return read(content.replace(b",4wd,", b",6wd,", 1) if name == "tractor_classes.csv" else content, name)

    monkeypatch.setattr(readers, "read_bytes", spoiled)
    with pytest.raises(library.LibraryError, match=r"tractor_classes.csv, line \d+: .*6wd"):
        library.build(tmp_path / "new" / "store.duckdb")
    assert list((tmp_path / "new").iterdir()) == []


def test_a_store_finished_meanwhile_is_kept(tmp_path):
    """When another process finished a store at the same place first, that one stays."""
    path = tmp_path / "store.duckdb"

    def meanwhile(con):
        path.write_text("theirs")

    library.build(path, after=meanwhile)
    assert path.read_text() == "theirs"
    assert [file.name for file in tmp_path.iterdir()] == ["store.duckdb"]
