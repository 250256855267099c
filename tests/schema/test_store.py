"""The store: what is opened, how it is locked, what survives, and what an error says."""

import os
import shutil
import stat
import subprocess
import sys
import textwrap

import duckdb
import pytest

from evener.schema import fields
from evener.schema.store import connection as store
from evener.schema.store import copies, engine


@pytest.fixture
def small(tmp_path):
    """A store with empty tables."""
    path = tmp_path / "small.duckdb"
    with store.create(path):
        pass
    return path


def insert(con, family="plow"):
    con.execute("INSERT INTO source (source_id, citation, status) VALUES (?, 'a book', 'memory')", [family])


def names(con):
    return [row["source_id"] for row in store.read_rows(con, "source")]


NOT_STORES = {
    "empty": lambda path: path.write_bytes(b""),
    "text": lambda path: path.write_text("width,mass\n1,2\n"),
    "another database": lambda path: path.write_bytes(b"SQLite format 3\0" + bytes(100)),
    "spreadsheet": lambda path: path.write_bytes(b"PK\3\4" + bytes(100)),
    "folder": lambda path: path.mkdir(),
    "pipe": os.mkfifo,
    "dangling link": lambda path: path.symlink_to(path.with_name("nowhere")),
}


@pytest.mark.parametrize("what", NOT_STORES)
def test_what_is_no_store_is_refused_by_name(tmp_path, what):
    """Anything else at the path is refused in one line that names it, without waiting on it or touching it."""
    path = tmp_path / "thing"
    NOT_STORES[what](path)
    with pytest.raises(store.NotAStore, match="thing"), store.open_read(path):
        pass
    assert store.NotAStore.exit_status == 2


def test_a_missing_store_is_not_made_by_reading(tmp_path):
    """Reading where nothing is says so and leaves nothing behind."""
    with pytest.raises(store.NoStore, match=r"There is no store at"), store.open_read(tmp_path / "none.duckdb"):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_database_of_others_is_refused(tmp_path):
    """A DuckDB file without this tool's tables is no store."""
    path = tmp_path / "other.duckdb"
    duckdb.connect(str(path)).close()
    with pytest.raises(store.NotAStore, match="without this tool's tables"), store.open_read(path) as con:
        store.read_tractors(con)


def test_a_cut_store_is_damaged(small):
    """A store that ends too soon is reported as damaged, with status 3."""
    small.write_bytes(small.read_bytes()[:5000])
    with pytest.raises(store.StoreDamaged, match="cannot be read whole"), store.open_read(small):
        pass
    assert store.StoreDamaged.exit_status == 3


@pytest.mark.parametrize(
    "statement",
    [
        "COPY (SELECT 1) TO '{folder}/out.csv'",
        "SELECT * FROM read_csv('{folder}/in.csv')",
        "ATTACH '{folder}/other.duckdb'",
        "SET enable_external_access=true",
        "SET log_query_path='{folder}/small.duckdb.wal'",
        "INSTALL httpfs",
        "CREATE TABLE t (x INTEGER)",
        "DELETE FROM tractor",
    ],
)
def test_reading_is_locked(small, tmp_path, statement):
    """A connection for reading reaches no file, loads no extension, changes no setting and no row."""
    (tmp_path / "in.csv").write_text("a\n1\n")
    before = small.read_bytes()
    with store.open_read(small) as con, pytest.raises(duckdb.Error):
        con.execute(statement.format(folder=tmp_path)).fetchall()
    assert small.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"in.csv", "small.duckdb"}


def test_a_view_into_the_file_system_is_shut(small, tmp_path):
    """A view that a foreign store holds over another file cannot be read through."""
    (tmp_path / "secret.csv").write_text("a\n1\n")
    con = duckdb.connect(str(small))
    con.execute(f"CREATE OR REPLACE VIEW peep AS SELECT * FROM read_csv('{tmp_path}/secret.csv')")
    con.close()
    with store.open_read(small) as con, pytest.raises(duckdb.PermissionException):
        con.execute("SELECT * FROM peep").fetchall()


def test_a_new_store_is_the_owners_alone(tmp_path):
    """A store and its log are readable by their owner only, from the first byte on."""
    path = tmp_path / "own.duckdb"
    mask = os.umask(0o000)
    try:
        with store.create(path) as con:
            insert(con)
            modes = {file.name: stat.S_IMODE(file.stat().st_mode) for file in tmp_path.iterdir()}
        assert set(modes.values()) == {0o600}
        assert os.umask(0o000) == 0
    finally:
        os.umask(mask)


def test_nothing_takes_the_place_of_a_file(small):
    """A new store is not made over anything."""
    with pytest.raises(store.StoreForbidden, match="exists already"), store.create(small):
        pass


def test_a_write_that_fails_leaves_nothing(small):
    """An error while a store is open for writing undoes everything since it was opened."""

    def fail():
        with store.open_write(small) as con:
            insert(con)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    with store.open_read(small) as con:
        assert names(con) == []


def test_a_statement_that_fails_leaves_nothing(small):
    """A statement DuckDB refuses undoes the whole change, though a later commit would claim success."""

    def fail():
        with store.open_write(small) as con:
            insert(con)
            con.execute("INSERT INTO source (source_id) VALUES ('baler')")

    with pytest.raises(duckdb.ConstraintException):
        fail()
    with store.open_read(small) as con:
        assert names(con) == []


def test_what_is_written_is_in_the_file_itself(small):
    """After a write no log is left beside the store: the file alone answers."""
    with store.open_write(small) as con:
        insert(con)
    assert not small.with_name("small.duckdb.wal").exists()
    with store.open_read(small) as con:
        assert names(con) == ["plow"]


HOLDER = """
    import sys, duckdb
    con = duckdb.connect(sys.argv[1])
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.mark.ci
def test_a_store_in_use_names_who_holds_it(small, monkeypatch):
    """Beside a writer of another process, reading and writing wait a little and then name that process."""
    monkeypatch.setattr(engine, "PATIENCE_S", 0.1)
    command = [sys.executable, "-c", textwrap.dedent(HOLDER), str(small)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:
        holder.stdout.readline()
        for opening in (store.open_read, store.open_write):
            with pytest.raises(store.StoreBusy, match=f"process {holder.pid}"), opening(small):
                pass
        holder.communicate()
    assert store.StoreBusy.exit_status == 3
    with store.open_write(small):
        pass


def test_a_store_held_in_this_process_is_busy(small, monkeypatch):
    """A second opening in another manner by the same process is busy, not damaged."""
    monkeypatch.setattr(engine, "PATIENCE_S", 0.0)
    with store.open_write(small), pytest.raises(store.StoreBusy, match="this process"), store.open_read(small):
        pass


def test_a_killed_writer_leaves_the_old_rows(small):
    """A writer killed before it is done leaves the store as it was, and the next one works."""
    killed = """
        import os, signal, sys
        from pathlib import Path
        from evener.schema import fields
        from evener.schema.store import connection as store
        with store.open_write(Path(sys.argv[1])) as con:
            con.execute("INSERT INTO source (source_id, citation, status) VALUES ('plow', 'a book', 'memory')")
            os.kill(os.getpid(), signal.SIGKILL)
    """
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(killed), str(small)], check=False)
    assert done.returncode == -9
    with store.open_read(small) as con:
        assert names(con) == []
    with store.open_write(small) as con:
        insert(con)


def test_one_good_copy_is_kept(small):
    """The copy kept before a change opens by itself, is private, and holds the rows of before."""
    with store.open_write(small) as con:
        insert(con, "old")
    copies.keep_previous(small)
    with store.open_write(small) as con:
        insert(con, "new")
    copy = small.with_name("small.duckdb.previous")
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    with store.open_read(copy) as con:
        assert names(con) == ["old"]
    assert {path.name for path in small.parent.iterdir()} == {"small.duckdb", "small.duckdb.previous"}


def test_a_folder_that_may_not_be_written_is_said_before_anything_else(small, monkeypatch):
    """Without the right to write, writing fails before it begins; reading works."""
    monkeypatch.setattr(os, "access", lambda path, mode: mode != os.W_OK)
    with store.open_read(small):
        pass
    for writing in (store.check_writable, copies.keep_previous):
        with pytest.raises(store.StoreForbidden, match="may not be written"):
            writing(small)
    with pytest.raises(store.StoreForbidden, match="may not be written"), store.create(small.with_name("new.duckdb")):
        pass
    assert {path.name for path in small.parent.iterdir()} == {"small.duckdb"}


def test_reading_needs_no_heavy_library(library_store):
    """Reading all that ranking needs loads none of the libraries that only ingest and audit need."""
    program = """
        import sys
        from pathlib import Path
        from evener.schema import fields
        from evener.schema.store import connection as store
        with store.open_read(Path(sys.argv[1])) as con:
            store.read_tractors(con), store.read_implements(con), store.read_families(con)
            store.read_rating_models(con), store.read_reference(con)
        heavy = {"pandas", "pandera", "pint", "sklearn", "scipy"} & set(sys.modules)
        sys.exit(str(heavy) if heavy else 0)
    """
    done = subprocess.run([sys.executable, "-c", textwrap.dedent(program), str(library_store)], check=False)
    assert done.returncode == 0


def test_parameters_come_back_as_they_stand(library_store):
    """All parameter tables read at once are the same, to the last bit and in the same order, as each read by itself."""
    with store.open_read(library_store) as con:
        together = store.read_reference(con)
        for record in fields.reference_records():
            assert together[record] == store.read_rows(con, record)


def test_records_come_back_as_their_dataclasses(library_store):
    """Lists come back as tuples, estimates as a dictionary, blanks as None, and only the kinds asked for."""
    with store.open_read(library_store) as con:
        tractors = store.read_tractors(con, ["class"])
        assert store.read_tractors(con, ["stock"]) == []
        (cutter,) = store.read_implements(con, ["rotary-cutter-13"])
        families = store.read_families(con)
    big = next(tractor for tractor in tractors if tractor.tractor_id == "row-crop-225-4wd")
    assert big.pto_speeds_rpm == (1000,)
    assert big.loader_lift_kg is None
    assert big.estimated == {}
    assert cutter.pto_speeds_rpm == (540, 1000)
    assert families["rotary_cutter"].names


def test_tractors_come_as_columns_too(library_store, tmp_path):
    """Columns hold what the records hold: NaN and None where nothing is stated, lists as tuples, certainties typed."""
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    with store.open_write(path) as con:
        con.execute(
            "INSERT INTO tractor BY NAME SELECT 'S1' AS tractor_id, 'stock' AS kind, 'one' AS label, 'x' AS source_id,"
            " 'stated' AS status, 40.0 AS mass_kg, MAP {'mass_kg': {'kind': 'about', 'low': NULL::DOUBLE,"
            " 'high': NULL::DOUBLE, 'spread_pct': 20.0::DOUBLE, 'basis': 'a cell'}} AS estimated"
        )
    with store.open_read(path) as con:
        for kinds in (None, ["class"], ["stock"], ["member"]):
            records, columns = store.read_tractors(con, kinds), store.read_tractor_columns(con, kinds)
            assert {len(column) for column in columns.values()} == {len(records)}
            for name, column in columns.items():
                held = [None if one != one else one for one in column.tolist()]  # noqa: PLR0124
                assert held == [getattr(record, name) for record in records], name
    assert columns["mass_kg"].dtype == float
    assert columns["label"].dtype == object
