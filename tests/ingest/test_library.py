"""The starting library is built once, whole, by the path of users' files."""

import stat
from pathlib import Path

import pytest

from evener.ingest.files import readers
from evener.ingest.store import library
from evener.schema.store import connection as store


def test_a_new_store_is_whole_and_private(library_store):
    """Every library file is a batch of its own, nothing was refused, and the store is the owner's alone."""
    with store.open_read(library_store) as con:
        batches = store.read_rows(con, "batch")
        assert store.read_rows(con, "quarantine") == []
        (made,) = store.read_rows(con, "store")
        assert store.read_rating_fits(con)
    assert [batch["file_name"] for batch in batches] == [file.name for _, file in library.files()]
    assert all(batch["loaded"] == batch["read"] > 0 for batch in batches)
    assert made["library_sha256"] == library.fingerprint()
    assert stat.S_IMODE(library_store.stat().st_mode) == 0o600


def test_every_shipped_table_is_loaded():
    """No CSV of the library or reference folders is left out."""
    schema = Path(library.__file__).parents[2] / "schema"
    shipped = {path.name for folder in ("library", "reference") for path in (schema / folder).glob("*.csv")}
    assert shipped == {file.name for _, file in library.files()}


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
