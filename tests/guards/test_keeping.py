"""Verify, back up, restore, recover: what is wrong is noticed, nothing is deleted, and what is lost is said."""

import json
import os
import shutil
import subprocess
import sys
import textwrap
from importlib import resources

import duckdb
import jsonschema
import pytest

from evener.ingest.store import batches, undo
from evener.schema.store import companions, copies, log_count
from evener.schema.store import connection as store
from evener.schema.store.faults import DiskFailed, LogLost, NotAStore, explain
from evener.schema.store.keeping import backups, recovery, verifying

pytestmark = pytest.mark.ci

HEADER = "id,label,engine (hp),weight (lb)"
# Commits and dies before the log is brought into the file.
CUT_OFF = """
    import os, signal, sys
    from pathlib import Path
    from evener.schema.store import engine
    engine._empty_log = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
    with engine.writing(Path(sys.argv[1])) as con:
        con.execute("INSERT INTO unplaced VALUES ('B0001', 'tractor', 1, '{}')")
"""


@pytest.fixture(scope="module")
def grown(library_store, tmp_path_factory):
    """The folder of a store with an ingest of one's own and a correction of it, to be copied."""
    folder = tmp_path_factory.mktemp("grown")
    path = shutil.copy(library_store, folder / "own.duckdb")
    for name, weight in (("first.csv", 5900), ("second.csv", 6000)):
        (folder / name).write_text(f"{HEADER}\nS1,Utility,60,{weight}\nS2,Utility,70,6900\n,Utility,70,6900\n")
        batches.ingest_file(path, folder / name, kind="stock")
    return folder


@pytest.fixture
def own(grown, tmp_path):
    """Such a store of the test's own."""
    shutil.copytree(grown, tmp_path, dirs_exist_ok=True)
    return tmp_path / "own.duckdb"


def changed(path, sql):
    with duckdb.connect(str(path)) as con:
        con.execute(sql)


def cut_off(path):
    """Leave a change in the log alone, as a power cut does."""
    ended = subprocess.run([sys.executable, "-c", textwrap.dedent(CUT_OFF), str(path)], check=False)
    assert ended.returncode == -9
    return path.with_name(path.name + ".wal")


def held(folder):
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()}


def test_verify_in_every_form(own, evener):
    """What verify finds fits the shipped schema as JSON, and is a page for people."""
    schema = json.loads((resources.files("evener.cli") / "answers.schema.json").read_text(encoding="utf-8"))
    printed = json.loads(evener("verify", "--format", "json", store=own).stdout)
    jsonschema.Draft202012Validator({**schema, "$ref": "#/$defs/verify"}).validate(printed)
    page = evener("verify", store=own)
    assert page.returncode == 0
    assert page.stdout.startswith("own.duckdb: all is well")
    assert printed["sha256"] in page.stdout
    assert evener("verify", "--format", "csv", store=own).stdout == "store,finding\n"


def test_a_store_with_a_life_is_well(own, tmp_path):
    """After ingests, corrections, refusals and an undo everything adds up, and nothing in the store has changed."""
    before = own.read_bytes()
    found = verifying.verify(own)
    assert found.findings == ()
    assert found.last_batch[1] == "second.csv"
    assert found.previous == "own.duckdb.previous"
    assert found.records["tractor"] > 2
    assert own.read_bytes() == before
    undo.undo(own, found.last_batch[0])
    assert verifying.verify(own).findings == ()


@pytest.mark.parametrize(
    ("spoilt", "says"),
    [
        ("DELETE FROM tractor WHERE tractor_id = 'S2'", "rows were loaded, and"),
        (
            "INSERT INTO tractor SELECT * FROM tractor WHERE tractor_id = 'S2'",
            "names that several rows have, such as S2",
        ),
        ("DELETE FROM quarantine", "rows were refused, and 0 are kept"),
        ("DELETE FROM batch WHERE file_name = 'second.csv'", "of no ingest that is entered"),
        ("UPDATE batch SET loaded = 7, read = 9 WHERE file_name = 'first.csv'", "7 rows were loaded, and 2 are there"),
        ("UPDATE batch SET read = 99 WHERE file_name = 'first.csv'", "99 rows read are not 3 in all"),
        ("UPDATE tractor SET engine_power_kw = -5 WHERE tractor_id = 'S2'", "a engine_power_kw that it cannot have"),
        ("UPDATE tractor SET kind = 'horse' WHERE tractor_id = 'S2'", "a kind that it cannot have, such as S2"),
        ("UPDATE tractor SET source_id = 'NOWHERE' WHERE tractor_id = 'S2'", "cite a source that is not there"),
        ("DROP TABLE history", "the table history is missing"),
        ("ALTER TABLE history DROP COLUMN key", "the table history lacks the column key"),
        ("CREATE VIEW mine AS SELECT 1", "the view mine is none of this tool's"),
    ],
)
def test_what_is_wrong_is_found(own, spoilt, says):
    """Rows gone, doubled, out of bounds or without their ingest, counts that differ, tables out of shape: told."""
    changed(own, spoilt)
    found = verifying.verify(own).findings
    assert any(says in one for one in found), found


def test_a_store_that_is_not_well_is_not_backed_up(own, evener, tmp_path):
    """What is wrong ends verify with status 1, and no backup is made of it."""
    changed(own, "DELETE FROM quarantine")
    ran = evener("verify", "--format", "json", store=own)
    assert ran.returncode == 1
    assert any("rows were refused" in one for one in json.loads(ran.stdout)["findings"])
    with pytest.raises(backups.NotSafe, match="not safe"):
        backups.back_up(own, tmp_path / "copy")


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8, 0.97])
def test_a_byte_that_turned_is_found(own, evener, share):
    """A byte turned in what the tables occupy is damage or a finding, never a store that is well."""
    whole = bytearray(own.read_bytes())
    at = next(place for place in range(int(share * len(whole)), len(whole)) if whole[place])
    whole[at] ^= 0xFF
    own.write_bytes(whole)
    ran = evener("verify", store=own)
    if ran.returncode == 0:  # a block that no table occupies any more
        with store.open_read(own) as con:
            free = con.execute("SELECT free_blocks FROM pragma_database_size()").fetchall()
        assert free[0][0] > 0
        return
    assert ran.returncode in (1, 3)
    assert "Traceback" not in ran.stderr


def test_a_backup_has_the_hash_of_the_store_and_comes_back(own, evener, tmp_path):
    """Backed up, changed, restored: the records of the backup, what is lost named, the store from before kept whole."""
    saved = tmp_path / "saved.backup"
    assert evener("backup", saved, store=own).returncode == 0
    assert verifying.hash_of(saved) == verifying.verify(own).sha256
    (tmp_path / "third.csv").write_text(f"{HEADER}\nS9,Utility,60,5900\n")
    batches.ingest_file(own, tmp_path / "third.csv", kind="stock")
    later = own.read_bytes()
    ran = evener("restore", saved, store=own)
    assert ran.returncode == 1
    assert "third.csv" in ran.stdout
    assert (tmp_path / "own.duckdb.aside-1").read_bytes() == later
    assert own.read_bytes() == saved.read_bytes()
    assert evener("restore", saved, store=own).returncode == 0
    assert (tmp_path / "own.duckdb.aside-2").exists()
    assert not list(tmp_path.glob(".*.new*"))


def test_a_backup_goes_through_the_gate(own, evener, tmp_path):
    """A backup is never written over the store or its companions, and over another file only with --replace."""
    (tmp_path / "old.backup").write_text("old")
    for target in (own, tmp_path / "own.duckdb.previous", tmp_path / "old.backup"):
        before = held(tmp_path)
        assert evener("backup", target, store=own).returncode == 2
        assert held(tmp_path) == before
    assert evener("backup", tmp_path / "old.backup", "--replace", store=own).returncode == 0


def test_a_backup_is_its_owners_alone(own, tmp_path):
    """A backup holds customers' data: nobody else may read it."""
    copies.copy_into(own, tmp_path / "copy")
    assert (tmp_path / "copy").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("content", [b"", b"no store", b"\0" * 8 + b"DUCK" + b"\0" * 9000])
def test_what_is_no_backup_is_refused_and_nothing_changes(own, evener, tmp_path, content):
    """A file that is no whole store does not take the store's place."""
    (tmp_path / "bad").write_bytes(content)
    before = held(tmp_path)
    assert evener("restore", tmp_path / "bad", store=own).returncode in (2, 3)
    assert evener("restore", own, store=own).returncode == 2
    assert evener("restore", tmp_path / "none", store=own).returncode == 2
    assert held(tmp_path) == before


def test_a_damaged_store_is_brought_back(own, evener, tmp_path):
    """Where the store cannot be read, a backup takes its place, and that what was lost cannot be told is said."""
    evener("backup", tmp_path / "saved", store=own)
    damaged = own.read_bytes()[:9000]
    own.write_bytes(damaged)
    ran = evener("restore", tmp_path / "saved", store=own)
    assert (ran.returncode, "cannot be read to say what" in " ".join(ran.stdout.split())) == (1, True), ran.stderr
    assert (tmp_path / "own.duckdb.aside-1").read_bytes() == damaged
    assert evener("verify", store=own).returncode == 0


def test_the_previous_copy_comes_back(own, evener, tmp_path):
    """recover --previous goes back before the last ingest, names it as lost, and keeps the store and the copy."""
    ran = evener("recover", "--previous", store=own)
    assert ran.returncode == 1
    assert "second.csv" in ran.stdout
    assert verifying.verify(own).last_batch[1] == "first.csv"
    assert verifying.verify(tmp_path / "own.duckdb.aside-1").last_batch[1] == "second.csv"
    assert (tmp_path / "own.duckdb.previous").exists()
    (tmp_path / "own.duckdb.previous").unlink()
    assert evener("recover", "--previous", store=own).returncode == 2


def test_a_log_that_was_removed_is_noticed(own, evener, tmp_path):
    """A change saved in the log alone: with the log it is there, without it no command answers from older data."""
    log = cut_off(own)
    with store.open_read(own) as con:
        assert con.execute("SELECT count(*) FROM unplaced").fetchall() == [(1,)]
    whole = log.read_bytes()
    log.unlink()
    for arguments in (("list", "tractors"), ("verify",), ("backup", tmp_path / "b"), ("undo", "B0001")):
        ran = evener(*arguments, store=own)
        assert (ran.returncode, ran.stdout) == (3, "")
        assert "own.duckdb.wal, which is gone or was cut short" in ran.stderr
    log.write_bytes(whole[:-20])
    with pytest.raises(LogLost), store.open_read(own):
        pass
    log.write_bytes(whole)
    assert evener("verify", store=own).returncode == 0


def test_the_loss_of_a_log_can_be_accepted(own, evener):
    """recover says that a change is lost, and the store opens again."""
    cut_off(own).unlink()
    ran = evener("recover", store=own)
    assert ran.returncode == 1
    assert "gone or was cut short" in " ".join(ran.stdout.split())
    assert evener("verify", store=own).returncode == 0
    assert recovery.recover(own).log_lost is False


def test_the_count_goes_when_the_log_is_in_the_file(own, tmp_path):
    """After a change that was brought into the file no count is left, and a copy put in its place is no loss."""
    cut_off(own)
    count = tmp_path / "own.duckdb.change"
    assert count.exists()
    with store.open_write(own):
        pass
    assert not count.exists()
    cut_off(own)
    shutil.copy(tmp_path / "own.duckdb.previous", own)
    (tmp_path / "own.duckdb.wal").unlink()
    log_count.check(own)


@pytest.mark.parametrize("content", ["", "{", "[]", '{"log_bytes": "x"}', "9" * 9000])
def test_a_count_that_is_none_does_no_harm(own, tmp_path, content):
    """A damaged count is passed over."""
    (tmp_path / "own.duckdb.change").write_text(content)
    assert verifying.verify(own).findings == ()


def test_through_a_link_the_store_is_the_same(own, tmp_path):
    """Log, copies and count of a store reached through a link lie beside the store, whoever opens it how."""
    away = tmp_path / "away"
    away.mkdir()
    link = away / "link.duckdb"
    link.symlink_to(own)
    cut_off(link)
    assert (tmp_path / "own.duckdb.wal").exists()
    (tmp_path / "third.csv").write_text(f"{HEADER}\nS9,Utility,60,5900\n")
    batches.ingest_file(link, tmp_path / "third.csv", kind="stock")
    assert [one.name for one in away.iterdir()] == ["link.duckdb"]
    with store.open_read(own) as con:
        assert con.execute("SELECT count(*) FROM unplaced").fetchall() == [(1,)]


@pytest.mark.parametrize("table", ["store", "tractor", "source"])
def test_a_view_in_place_of_a_table_is_refused(own, evener, table):
    """A store whose table is a view, which could answer anything, is refused in one line by every command."""
    changed(own, f'ALTER TABLE "{table}" RENAME TO held; CREATE VIEW "{table}" AS SELECT * FROM held')
    for arguments in (("list", "tractors"), ("verify",), ("undo", "B0001"), ("query", "SELECT 1")):
        ran = evener(*arguments, store=own)
        assert (ran.returncode, ran.stdout, ran.stderr.count("\n")) == (2, "", 1), arguments
        assert f"a view in place of the table {table}" in ran.stderr


def test_a_disk_that_fails_is_not_called_damage(tmp_path):
    """Errors of reading, writing and syncing are the disk's; only what was read and is wrong is damage."""
    for said in ("Could not read from file: Input/output error", "fsync failed!", "Could not fsync file: EIO"):
        assert isinstance(explain(tmp_path / "own", duckdb.IOException(said)), DiskFailed)
    torn = explain(tmp_path / "own", duckdb.IOException("Could not read enough bytes from file"))
    assert type(torn).__name__ == "StoreDamaged"
    assert not isinstance(explain(tmp_path / "own", duckdb.IOException("corrupt")), (DiskFailed, NotAStore))


def test_copies_have_names_of_their_own(own):
    """Two commands that copy the same store at once do not share an unfinished file."""
    names = {companions.unfinished(own) for _ in range(50)}
    assert len(names) == 50
    assert all(companions.itself(one).parent == own.parent for one in names)
    assert os.path.lexists(own)
