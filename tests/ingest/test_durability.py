"""Killed at any instant, out of room, or refused a write: all of an ingest or none of it, and it works again."""

import re
import shutil
import signal
import subprocess
import sys
import textwrap
import time

import pytest

from evener.ingest.store import batches
from evener.schema.store import connection as store

pytestmark = pytest.mark.ci

ROWS = 3000
COMMAND = [sys.executable, "-m", "evener.cli.main", "ingest", "list.csv", "--as", "tractors", "--kind", "stock"]
# A file may grow to so many bytes and no further: what is written beyond fails, as on a full disk.
LIMITED = """
    import resource, signal, sys
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    most = int(sys.argv.pop(1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    from evener.cli.main import main
    sys.argv[0] = "evener"
    main()
"""


def write_list(folder):
    """Write a list of some thousand tractors."""
    lines = [
        f"S{place},Utility {place * 7919 % 9973},{60 + place % 40},{5900 + place * 37 % 1999},{place * 7919 % 99991}"
        for place in range(ROWS)
    ]
    text = "\n".join(["id,label,engine (hp),weight (lb),price", *lines])
    (folder / "list.csv").write_text(text + "\n")


@pytest.fixture
def folder(library_store, tmp_path):
    """A folder with a store and a list of tractors."""
    shutil.copy(library_store, tmp_path / "own.duckdb")
    write_list(tmp_path)
    return tmp_path


def held(folder):
    """How many stock tractors and ingests of them the store holds."""
    with store.open_read(folder / "own.duckdb") as con:
        ((stock,),) = con.execute("SELECT count(*) FROM tractor WHERE kind = 'stock'").fetchall()
        ((ingests,),) = con.execute("SELECT count(*) FROM batch WHERE file_name = 'list.csv'").fetchall()
    return stock, ingests


def complete(folder):
    """Run the ingest again, undisturbed."""
    report = batches.ingest_file(folder / "own.duckdb", folder / "list.csv", kind="stock")
    assert report.loaded + report.unchanged == ROWS
    assert held(folder) == (ROWS, 1)


@pytest.fixture(scope="module")
def whole_time(library_store, tmp_path_factory):
    """How long the command takes undisturbed, so that a kill falls within it."""
    whole = tmp_path_factory.mktemp("whole")
    shutil.copy(library_store, whole / "own.duckdb")
    write_list(whole)
    begun = time.monotonic()
    subprocess.run([*COMMAND, "--store", "own.duckdb"], cwd=whole, capture_output=True, check=True)
    return time.monotonic() - begun


@pytest.mark.parametrize("share", [0.6, 0.75, 0.9])
def test_killed_at_any_instant(folder, whole_time, share):
    """SIGKILL anywhere in the command leaves all rows with their ingest, or none; run again, it is complete."""
    with subprocess.Popen([*COMMAND, "--store", "own.duckdb"], cwd=folder, stdout=subprocess.DEVNULL) as running:
        time.sleep(share * whole_time)
        running.send_signal(signal.SIGKILL)
    assert held(folder) in ((0, 0), (ROWS, 1))
    complete(folder)


@pytest.mark.parametrize("more", [-4096, 1, 65_536])
def test_out_of_room(folder, more):
    """A write that fails is one line that names the store, and status 3; nothing is lost, and it works again."""
    path = folder / "own.duckdb"
    most = path.stat().st_size + more
    command = [sys.executable, "-c", textwrap.dedent(LIMITED), str(most), *COMMAND[3:], "--store", "own.duckdb"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 3
    assert done.stdout == ""
    assert re.match(r"evener: (a copy of )?own\.duckdb", done.stderr)
    assert done.stderr.count("\n") == 1
    stock, ingests = held(folder)
    assert (stock, ingests) in ((0, 0), (ROWS, 1))
    assert ("Nothing was changed" in done.stderr) == (stock == 0)
    complete(folder)


def test_a_few_rows_saved_in_the_log_are_said_to_be(folder):
    """Where the change is safe in the log and the file cannot grow, that is what is said, and no success."""
    file = folder / "list.csv"
    file.write_text("\n".join(file.read_text().splitlines()[:50]) + "\n")
    path = folder / "own.duckdb"
    command = [sys.executable, "-c", textwrap.dedent(LIMITED), str(path.stat().st_size + 1), *COMMAND[3:]]
    done = subprocess.run([*command, "--store", str(path)], cwd=folder, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (3, "")
    assert "the change is saved in the log own.duckdb.wal" in done.stderr
    assert held(folder) == (49, 1)
    assert batches.ingest_file(path, file, kind="stock").unchanged == 49
