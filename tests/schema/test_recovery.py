"""A store whose log was damaged opens again: the log goes aside, and nothing is deleted."""

import subprocess
import sys
import textwrap

import pytest

from evener.ingest.store import batches
from evener.schema.store import connection as store
from evener.schema.store.keeping import recovery

# Commits without bringing the log into the file, as a machine does that loses power.
CUT_OFF = """
    import os, signal, sys, duckdb
    con = duckdb.connect(sys.argv[1])
    for number in range(40):
        con.execute('INSERT INTO family (family, label, names, "group", power, source_id, status) '
                    'VALUES (?, $$a plough$$, [$$share$$, $$coulter$$], $$tillage$$, $$draft$$, $$$$, $$memory$$)',
                    [f"f{number}"])
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture
def cut(tmp_path):
    """A store with one ingest in its file and forty changes in its log alone."""
    path = tmp_path / "cut.duckdb"
    with store.create(path):
        pass
    file = tmp_path / "sources.csv"
    file.write_text("source_id,citation,status\nMEADOW,Meadow trial,memory\n")
    batches.ingest_file(path, file, record="sources")
    assert subprocess.run([sys.executable, "-c", textwrap.dedent(CUT_OFF), str(path)], check=False).returncode == -9
    return path


def damage(path):
    """Turn a byte in the middle of the log."""
    log = path.with_name(path.name + ".wal")
    held = bytearray(log.read_bytes())
    held[len(held) // 2] ^= 0xFF
    log.write_bytes(held)
    return bytes(held)


def test_a_whole_log_is_replayed(cut):
    """A log that is whole loses nothing, and there is nothing to recover."""
    with store.open_read(cut) as con:
        assert len(store.read_rows(con, "family")) == 40
    found = recovery.recover(cut)
    assert found.aside is None
    assert found.last_batch[:2] == ("B0001", "sources.csv")


@pytest.mark.ci
def test_a_damaged_log_names_the_way_out(cut):
    """A log that cannot be replayed is said with the command that helps, for reading and for writing."""
    damage(cut)
    for opening in (store.open_read, store.open_write):
        with (
            pytest.raises(store.LogDamaged, match=r"cut\.duckdb\.wal is damaged.*evener recover --store"),
            opening(cut),
        ):
            pass
    assert store.LogDamaged.exit_status == 3


@pytest.mark.ci
def test_the_log_goes_aside_and_nothing_is_deleted(cut):
    """Recovery keeps the log's bytes under another name, opens the store, and says which ingest is the last."""
    held = damage(cut)
    found = recovery.recover(cut)
    assert found.aside.read_bytes() == held
    assert found.aside.name == "cut.duckdb.wal.aside-1"
    assert found.last_batch[:2] == ("B0001", "sources.csv")
    assert found.previous.name == "cut.duckdb.previous"
    with store.open_read(cut) as con:
        assert store.read_rows(con, "family") == []
    with store.open_write(cut):
        pass


@pytest.mark.ci
def test_a_log_moved_aside_before_stays(cut):
    """A second recovery takes another name."""
    cut.with_name("cut.duckdb.wal.aside-1").write_text("older")
    damage(cut)
    assert recovery.recover(cut).aside.name == "cut.duckdb.wal.aside-2"
    assert cut.with_name("cut.duckdb.wal.aside-1").read_text() == "older"


@pytest.mark.ci
def test_a_store_that_is_damaged_itself_gets_its_log_back(cut, monkeypatch):
    """Where the file cannot be read without its log either, everything is as it was."""
    held = damage(cut)
    last_batch = recovery._last_batch
    asked = []

    def damaged(path):
        asked.append(path)
        if len(asked) == 1:
            return last_batch(path)
        raise store.StoreDamaged("the file itself")

    monkeypatch.setattr(recovery, "_last_batch", damaged)
    with pytest.raises(store.StoreDamaged, match="the file itself"):
        recovery.recover(cut)
    assert cut.with_name("cut.duckdb.wal").read_bytes() == held
    assert not list(cut.parent.glob("*.aside-*"))
