"""A store of an earlier shape is brought up to date whole, with a copy kept, or refused with what to do."""

import importlib
import json
import os
import shutil
from pathlib import Path

import duckdb
import pytest

from evener.ingest.store import undo
from evener.schema import tables
from evener.schema.certainty import ABOUT, Certainty
from evener.schema.store import connection as store
from evener.schema.store.migrations import chain

DATA = Path(__file__).with_name("data")
FIRST = chain.FIRST
SHAPES = range(FIRST, tables.STORE_VERSION)
STEPS = [importlib.import_module(f"{chain.__package__}.to_{shape + 1}") for shape in SHAPES]
WORDS = {
    "A": {"mass_kg": "the cell says about, +-20 %", "pto_power_kw": "0.9 x net engine power (UAZ, published), +-3 %"},
    "B": {"pto_power_kw": "dyno in the yard, +- a few hp"},
    "C": None,
}
TYPED = {
    "A": {
        "mass_kg": ABOUT,
        "pto_power_kw": Certainty("estimated", spread_pct=3.0, basis="0.9 x net engine power (UAZ, published)"),
    },
    "B": {"pto_power_kw": Certainty("estimated", basis="dyno in the yard, +- a few hp")},
    "C": {},
}
LIKELY = {
    "VARCHAR": "'x'",
    "DOUBLE": "0.5",
    "INTEGER": "1",
    "estimated": "NULL",
    "source_id": "'file:yard.csv'",
    "DOUBLE[]": "[0.5]",
    "VARCHAR[]": "['x']",
}


def described(path):
    """Every table's columns and types."""
    with duckdb.connect(str(path), read_only=True) as con:
        names = [name for (name,) in con.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall()]
        # Columns are read and written by name: those a step adds stand last.
        return {name: sorted(row[:3] for row in con.execute(f'DESCRIBE "{name}"').fetchall()) for name in names}


def filled(con):
    """Put a row into every table that has none: a step is one thing with rows and another without."""
    empty = [name for (name,) in con.execute("SELECT table_name FROM duckdb_tables() ORDER BY 1").fetchall()]
    for name in empty:
        if con.execute(f'SELECT count(*) FROM "{name}"').fetchall() == [(0,)]:
            kinds = {row[0]: row[1] for row in con.execute(f'DESCRIBE "{name}"').fetchall()}
            values = ", ".join(LIKELY.get(column, LIKELY.get(kind, "NULL")) for column, kind in kinds.items())
            con.execute(f'INSERT INTO "{name}" VALUES ({values})')


@pytest.fixture(params=SHAPES)
def older(request, tmp_path):
    """A store of each earlier shape, with three tractors, and an older version of one of them."""
    path = tmp_path / "older.duckdb"
    with duckdb.connect(str(path), config={"storage_compatibility_version": "v1.2.0"}) as con:
        con.execute((DATA / f"store_shape_{FIRST}.sql").read_text(encoding="utf-8"))
        for batch in ("B0001", "B0002"):
            con.execute(
                "INSERT INTO batch (batch_id, record, file_name, file_sha256, loaded_at, encoding, measures, mapping,"
                " read, loaded, unchanged, superseded, quarantined)"
                " VALUES (?, 'tractor', 'yard.csv', 'x', TIMESTAMP '2026-01-01', 'utf-8', 'us', '{}', 1, 1, 0, 0, 0)",
                [batch],
            )
        for number, (name, said) in enumerate(WORDS.items()):
            con.execute(
                "INSERT INTO tractor (tractor_id, kind, label, mass_kg, pto_speeds_rpm, estimated, source_id, status,"
                " batch_id) VALUES (?, 'stock', 'a tractor', 3000.5, [540, 1000], ?, 'file:yard.csv', 'stated', ?)",
                [name, said and json.dumps(said), "B0001" if number else "B0002"],
            )
        con.execute("INSERT INTO source (source_id, citation, status) VALUES ('file:yard.csv', 'yard', 'stated')")
        con.execute(
            "INSERT INTO history SELECT 'tractor', 'A', 'B0001', 'B0002', to_json(t)"
            " FROM (SELECT * REPLACE ('B0001' AS batch_id) FROM tractor WHERE tractor_id = 'A') t"
        )
        filled(con)
        # Stores of the shapes between were made by these very steps.
        for number in range(FIRST + 1, request.param + 1):
            importlib.import_module(f"evener.schema.store.migrations.to_{number}").migrate(con)
            con.execute("UPDATE store SET version = ?", [number])
    return path


def test_every_shape_before_this_one_has_its_store():
    """There is a step from every shape to the next, and the oldest store to try them on."""
    steps = Path(chain.__file__).parent.glob("to_*.py")
    assert sorted(int(step.stem.rpartition("_")[2]) for step in steps) == [shape + 1 for shape in SHAPES]
    assert (DATA / f"store_shape_{FIRST}.sql").is_file()


@pytest.mark.ci
def test_reading_an_older_store_brings_it_up_to_date(older, tmp_path):
    """After a reading command the tables are those of a new store, every record is there, and the old store is kept."""
    before = older.read_bytes()
    with store.open_read(older) as con:
        held = {one.tractor_id: one for one in store.read_tractors(con)}
    assert {name: one.estimated for name, one in held.items()} == TYPED
    assert {(one.mass_kg, one.pto_speeds_rpm) for one in held.values()} == {(3000.5, (540, 1000))}
    fresh = tmp_path / "fresh.duckdb"
    with store.create(fresh):
        pass
    assert described(older) == described(fresh)
    (copy,) = tmp_path.glob("older.duckdb.version-*")
    assert copy.read_bytes() == before
    assert store.bring_up_to_date(older) is None


@pytest.mark.ci
def test_an_older_version_of_a_record_comes_back_after_it(older):
    """An ingest from before the change of shape can still be undone, with its certainties typed."""
    assert undo.undo(older, "B0002").restored == 1
    with store.open_read(older) as con:
        (back,) = (one for one in store.read_tractors(con) if one.tractor_id == "A")
    assert (back.batch_id, back.estimated) == ("B0001", TYPED["A"])


@pytest.mark.ci
def test_a_step_that_fails_leaves_the_store_as_it_was(older, monkeypatch):
    """When a step ends in an error the store has its old shape and rows, and the next command takes the step again."""

    def fail(con):
        con.execute("DELETE FROM tractor")
        raise RuntimeError

    before = described(older)
    with monkeypatch.context() as patched:
        for step in STEPS:
            patched.setattr(step, "migrate", fail)
        with pytest.raises(RuntimeError), store.open_read(older):
            pass
    assert described(older) == before
    assert not list(older.parent.glob("older.duckdb.version-*"))
    with store.open_read(older) as con:
        assert len(store.read_tractors(con)) == 3


@pytest.mark.ci
def test_copies_of_older_stores_never_replace_one_another(older, tmp_path):
    """A second store brought up to date at the same place keeps a copy of its own beside the first."""
    again = shutil.copy(older, tmp_path / "again")
    store.bring_up_to_date(older)
    shutil.copy(again, older)
    store.bring_up_to_date(older)
    assert len(list(tmp_path.glob("older.duckdb.version-*"))) == 2


@pytest.mark.ci
def test_an_older_store_that_may_not_be_written_is_refused(older, monkeypatch):
    """Where this user may not write, an older store is refused with what to do, and stays as it is."""
    before = older.read_bytes()
    monkeypatch.setattr(os, "access", lambda path, mode: mode != os.W_OK)
    with pytest.raises(store.StoreOutdated, match="Copy it to a folder of your own"), store.open_read(older):
        pass
    assert older.read_bytes() == before


@pytest.mark.parametrize(
    ("version", "wanted"),
    [
        (tables.STORE_VERSION + 1, "made by a newer version of this tool. Install that version"),
        (1, r"made by another version of this tool\. Export your own records"),
    ],
)
def test_a_store_of_an_unknown_shape_is_refused_in_one_sentence(tmp_path, version, wanted):
    """A store whose shape is newer, or older than was ever told apart, is refused and not touched."""
    path = tmp_path / "other.duckdb"
    with store.create(path) as con:
        con.execute("UPDATE store SET version = ?", [version])
    before = path.read_bytes()
    for opening in (store.open_read, store.open_write):
        with pytest.raises(store.StoreOutdated, match=wanted), opening(path):
            pass
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["other.duckdb"]
    assert store.StoreOutdated.exit_status == 2
