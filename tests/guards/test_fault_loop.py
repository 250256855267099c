"""Every write, sync and renaming fails in turn, once and for ever: one true line, nothing lost, and it works again."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from evener.schema.store import connection as store

HERE = Path(__file__).resolve().parent


@pytest.fixture(scope="module")
def failing_calls(tmp_path_factory):
    """The library that makes calls fail, built for this machine."""
    compiler = shutil.which("cc")
    if compiler is None or not sys.platform.startswith("linux"):
        pytest.skip("needs Linux and a C compiler")
    built = tmp_path_factory.mktemp("failing") / "failing_calls.so"
    command = [compiler, "-shared", "-fPIC", "-O1", "-o", built, HERE / "failing_calls.c", "-ldl"]
    subprocess.run(command, check=True)
    return built


def loop(failing_calls, folder, *arguments):
    """Run the loop, and return how many calls each change made and how many faults it met."""
    command = [sys.executable, HERE / "fault_loop.py", folder, *map(str, arguments)]
    done = subprocess.run(
        command,
        env={"PATH": "/usr/bin:/bin", "LD_PRELOAD": str(failing_calls)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout)


@pytest.mark.ci
def test_every_fault_of_a_small_store(failing_calls, tmp_path):
    """Ingest, undo, backup and restore on a small store, every call failing once and from then on."""
    with store.create(tmp_path / "small.duckdb"):
        pass
    (tmp_path / "place").mkdir()
    told = loop(failing_calls, tmp_path / "place", tmp_path / "small.duckdb", 3)
    assert set(told) == {"load", "undo", "back_up", "restore"}
    for calls, faults in told.values():
        assert calls >= 4
        assert faults == 2 * calls


@pytest.mark.slow
def test_every_fault_of_a_store_with_the_library(failing_calls, library_store, tmp_path):
    """The same with the library and a thousand rows, the store read whole after each fault; takes many minutes."""
    told = loop(failing_calls, tmp_path, library_store, 1000, "thorough")
    assert all(faults == 2 * calls for calls, faults in told.values())
