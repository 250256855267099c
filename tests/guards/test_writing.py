"""The gate for files that are written: never an input or the store, nothing replaced unasked, whole or not at all."""

import os
import re
from pathlib import Path

import pytest

from evener import writing
from evener.schema.store import companions

pytestmark = pytest.mark.ci


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder with a store, its companions and an input."""
    monkeypatch.chdir(tmp_path)
    for name in ("own.duckdb", "own.duckdb.wal", "own.duckdb.previous", "own.duckdb.version-3", "in.csv"):
        (tmp_path / name).write_text(name)
    (tmp_path / "link.duckdb").symlink_to("own.duckdb")
    return tmp_path


def held(folder):
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file()}


@pytest.mark.parametrize(
    "name",
    [
        "own.duckdb",
        "link.duckdb",
        "own.duckdb.wal",
        "own.duckdb.previous",
        "own.duckdb.previous.aside-2",
        "own.duckdb.version-3",
        "own.duckdb.wal.aside-1",
    ],
)
@pytest.mark.parametrize("store", ["own.duckdb", "link.duckdb"])
def test_the_store_and_its_companions_are_never_written(place, name, store):
    """Whatever belongs to the store is refused, there or not, by its own name or through a link, even with replace."""
    before = held(place)
    with pytest.raises(writing.CannotWrite, match="belongs to the store"):
        writing.write(place / name, "x", place / store, replace=True)
    assert held(place) == before


def test_a_hard_link_to_the_store_is_the_store(place):
    """Another name of the store's own file is refused too."""
    os.link(place / "own.duckdb", place / "other.csv")
    with pytest.raises(writing.CannotWrite, match="belongs to the store"):
        writing.write(place / "other.csv", "x", place / "own.duckdb", replace=True)


def test_a_name_that_only_begins_like_the_store_is_free(place):
    """A list may be called after the store."""
    writing.write(place / "own.duckdb.csv", "x", place / "own.duckdb")
    assert (place / "own.duckdb.csv").read_text() == "x"


@pytest.mark.parametrize("spelled", ["in.csv", "./in.csv", "sub/../in.csv", "same.csv", "hard.csv"])
def test_what_was_read_is_never_written(place, spelled):
    """An input is refused under every name it is reached by, even with replace."""
    (place / "sub").mkdir()
    (place / "same.csv").symlink_to("in.csv")
    os.link(place / "in.csv", place / "hard.csv")
    with pytest.raises(writing.CannotWrite, match="is what was read"):
        writing.write(place / spelled, "x", place / "own.duckdb", inputs=[place / "in.csv"], replace=True)
    assert (place / "in.csv").read_text() == "in.csv"


def test_a_file_that_is_there_needs_replace(place):
    """Without the word nothing that is there is touched; with it the file is replaced whole."""
    with pytest.raises(writing.CannotWrite, match="--replace"):
        writing.write(place / "in.csv", "x", None)
    assert (place / "in.csv").read_text() == "in.csv"
    writing.write(place / "in.csv", "x", None, replace=True)
    assert (place / "in.csv").read_text() == "x"


def test_a_file_that_came_meanwhile_stays(place):
    """Who takes the name while the file is made keeps it."""
    late = writing.written(place / "new.csv", None)
    late.__enter__().write_text("mine")
    (place / "new.csv").write_text("theirs")
    with pytest.raises(writing.CannotWrite, match="there already"):
        late.__exit__(None, None, None)
    assert (place / "new.csv").read_text() == "theirs"


def test_what_is_no_file_is_never_written(place):
    """A folder, a pipe and a link are refused, with replace too."""
    (place / "folder").mkdir()
    os.mkfifo(place / "pipe")
    (place / "nowhere").symlink_to("none")
    for name in ("folder", "pipe", "nowhere"):
        with pytest.raises(writing.CannotWrite, match="no regular file"):
            writing.write(place / name, "x", None, replace=True)


@pytest.mark.parametrize("target", ["none/new.csv", "in.csv/new.csv", "n" * 300, "nul\0"])
def test_a_target_that_cannot_be_is_one_line(place, target):
    """A missing folder, a file as folder, a name too long or with a NUL: one line, no trace."""
    before = held(place)
    with pytest.raises(writing.CannotWrite, match="cannot be written") as refused:
        writing.write(place / target, "x", place / "own.duckdb")
    assert "\n" not in str(refused.value)
    assert held(place) == before


@pytest.mark.parametrize("fails", ["fsync", "link", "replace"])
def test_whole_or_not_at_all(place, monkeypatch, fails):
    """Where the sync or the renaming fails, the old file is whole, and nothing unfinished is left."""

    def broken(*_args, **_more):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, fails, broken)
    before = held(place)
    if fails == "link":  # a file system without links still gets its file
        writing.write(place / "new.csv", "x", None)
        assert (place / "new.csv").read_text() == "x"
        return
    if fails == "replace":
        monkeypatch.setattr("pathlib.Path.replace", broken)
    with pytest.raises(writing.CannotWrite, match="Input/output error"):
        writing.write(place / "in.csv", "x", None, replace=True)
    assert held(place) == before


def test_a_folder_of_files_is_all_or_none(place):
    """Where one of several files is there already, none is written, and a folder made for them goes again."""
    (place / "plots").mkdir()
    (place / "plots" / "b.svg").write_text("old")
    for folder, refused in (("plots", True), ("fresh", False)):
        before = held(place / "plots")
        try:
            with writing.written_into(place / folder, None) as unfinished:
                (unfinished / "a.svg").write_text("a")
                (unfinished / "b.svg").write_text("b")
        except writing.CannotWrite:
            assert refused
            assert held(place / "plots") == before
    assert sorted(held(place / "fresh")) == ["a.svg", "b.svg"]
    with pytest.raises(ZeroDivisionError), writing.written_into(place / "gone", None):
        _ = 1 / 0
    assert not (place / "gone").exists()


def test_companions_lie_beside_the_store_itself(place):
    """Reached through a link, a store's log and copies have their names from the store, not from the link."""
    away = place / "away"
    away.mkdir()
    (away / "link.duckdb").symlink_to(place / "own.duckdb")
    beside = companions.beside(away / "link.duckdb", companions.LOG)
    assert beside.resolve() == (place / "own.duckdb.wal").resolve()


STOCK = ("--as", "tractors", "--kind", "stock")
LIST = "Stock #,Description,Engine net hp,PTO hp,Weight (lb),Hitch\nS1,Utility,73,62,6950,2\n"
SHEET = """
[place]
name = "Quince Hollow"

[[place.land]]
use = "pasture"
area = "46 ac"

[[task]]
name = "top the pasture"
family = "rotary_cutter"
width = "6 ft"
land = "pasture"
"""


def test_no_command_writes_over_its_input(evener, tmp_path):
    """A list, a mapping and a job sheet named as the target of the command that reads them stay as they were."""
    (tmp_path / "in.csv").write_text(LIST)
    (tmp_path / "map.toml").write_text("")
    (tmp_path / "job.toml").write_text(SHEET)
    before = held(tmp_path)
    for arguments in (
        ("ingest", "in.csv", *STOCK, "--dry-run", "--write-mapping", "in.csv"),
        ("ingest", "in.csv", *STOCK, "--dry-run", "--mapping", "map.toml", "--write-mapping", "./map.toml"),
        ("ask", "job.toml", "--interactive", "--write", "job.toml"),
    ):
        ran = evener(*arguments, "--replace", input="stop\n", cwd=tmp_path)
        assert (ran.returncode, ran.stdout) == (2, ""), arguments
        assert "is what was read" in ran.stderr
    assert held(tmp_path) == before


def test_no_command_replaces_a_file_unasked(evener, library_store, tmp_path):
    """Exports, answers, mappings, sheets and plots leave a file that is there, and write over it with --replace."""
    (tmp_path / "in.csv").write_text(LIST)
    (tmp_path / "job.toml").write_text(SHEET)
    (tmp_path / "plots").mkdir()
    (tmp_path / "plots" / "tedder.svg").write_text("old")
    for name in ("out.csv", "map.toml", "new.toml"):
        (tmp_path / name).write_text("old")
    before = held(tmp_path) | held(tmp_path / "plots")
    commands = (
        (("export", "implements", "--out", "out.csv"), "out.csv"),
        (("query", "SELECT 1 AS one", "--out", "out.csv"), "out.csv"),
        (("ingest", "in.csv", *STOCK, "--dry-run", "--write-mapping", "map.toml"), "map.toml"),
        (("ask", "job.toml", "--interactive", "--write", "new.toml"), "new.toml"),
        (("audit", "tedder", "--plots", "plots"), "plots/tedder.svg"),
    )
    for arguments, _ in commands:
        ran = evener(*arguments, input="stop\n", cwd=tmp_path)
        assert ran.returncode == 2, arguments
        assert "--replace" in ran.stderr
    assert held(tmp_path) | held(tmp_path / "plots") == before
    for arguments, name in commands:
        assert evener(*arguments, "--replace", input="stop\n", cwd=tmp_path).returncode in (0, 1)
        assert (tmp_path / name).read_text() != "old"


def test_only_the_usual_store_builds_itself(evener, tmp_path):
    """A slip in --store or EVENER_STORE is status 2 with what to do for every command, and no store appears."""
    (tmp_path / "in.csv").write_text(LIST)
    (tmp_path / "job.toml").write_text(SHEET)
    slip = tmp_path / "slip.duckdb"
    reading = ("list", "tractors"), ("rank", "job.toml"), ("check", "job.toml"), ("export", "tractors"), ("audit",)
    for arguments in (*reading, ("ingest", "in.csv", *STOCK), ("undo", "B0001"), ("recover",), ("query", "SELECT 1")):
        for said in ({"store": slip}, {"store": None, "env": {"EVENER_STORE": str(slip), "PATH": ""}}):
            ran = evener(*arguments, cwd=tmp_path, **said)
            assert (ran.returncode, ran.stdout) == (2, ""), arguments
            assert "--new-store" in ran.stderr
            assert ran.stderr.count("\n") == 1
    assert not slip.exists()
    ran = evener("ingest", "in.csv", *STOCK, "--new-store", store=slip, cwd=tmp_path)
    assert ran.returncode == 0
    assert evener("ingest", "in.csv", *STOCK, "--new-store", store=slip, cwd=tmp_path).returncode == 2
    usual = {"HOME": str(tmp_path / "home"), "XDG_DATA_HOME": str(tmp_path / "data"), "PATH": ""}
    assert evener("list", "sources", store=None, env=usual, cwd=tmp_path).returncode == 0
    assert list((tmp_path / "data").rglob("*.duckdb"))


# The gate itself; the log of a fault; files that are laid into a folder the gate gave.
MAY_WRITE = {"evener/writing.py", "cli/fault_log.py", "evener/scenario.py"}


def test_every_file_goes_through_the_gate():
    """No module of the command line or the front door writes a file by itself."""
    root = Path(__file__).resolve().parents[2]
    writes = re.compile(r"\.write_(text|bytes)\(|open\([^)]*[\"'][wax]b?\+?[\"']|\.savefig\(|shutil\.(copy|move)")
    found = {
        path.relative_to(root).as_posix()
        for room in ("cli", "evener")
        for path in (root / room).rglob("*.py")
        if writes.search(path.read_text("utf-8"))
    }
    assert found - MAY_WRITE <= {"evener/enquiry/given.py"}, "given.py copies the store into a folder it throws away"
