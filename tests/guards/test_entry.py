"""How a command ends: one line and a status for whatever happens, also for what nobody thought of."""

import os
import signal
import stat
import subprocess
import sys
import time

import pytest

from evener.cli import entry, fault_log
from evener.cli.adviser import check
from evener.schema.store import connection as store

pytestmark = pytest.mark.ci


@pytest.fixture
def failing(evener, tmp_path, monkeypatch):
    """Run a command that meets an error of one's choice."""

    def run(error, *arguments):
        def broken(*_args, **_more):
            raise error

        monkeypatch.setattr(check, "opened", broken)
        env = {**os.environ, "XDG_STATE_HOME": str(tmp_path / "state"), "HOME": str(tmp_path)}
        return evener("check", "job.toml", *arguments, env=env, cwd=tmp_path)

    return run


def logs(folder):
    return sorted((folder / "state").rglob("fault-*.txt"))


def test_a_surprise_is_one_line_with_a_log_to_send(failing, tmp_path):
    """What nobody thought of: status 70, one line that names a log, which has the way it came about."""
    ran = failing(ZeroDivisionError("a slip"))
    assert (ran.returncode, ran.stdout) == (70, "")
    assert ran.stderr.count("\n") == 1
    (log,) = logs(tmp_path)
    assert str(log) in ran.stderr
    assert "ZeroDivisionError: a slip" in log.read_text()
    assert "command check" in log.read_text()


def test_a_log_is_for_its_user_alone_and_names_no_home(failing, tmp_path):
    """The log can be read by nobody else, and the names of home and working folder are taken out."""
    failing(ValueError(f"{tmp_path}/customers.csv"))
    (log,) = logs(tmp_path)
    assert stat.S_IMODE(log.stat().st_mode) == 0o600
    assert str(tmp_path) not in log.read_text()
    assert "customers.csv" in log.read_text()


def test_logs_do_not_pile_up(failing, tmp_path):
    """Only the newest are kept."""
    for number in range(fault_log.MOST_KEPT + 3):
        failing(ZeroDivisionError(f"slip {number}"))
    kept = logs(tmp_path)
    assert len(kept) == fault_log.MOST_KEPT
    assert any(f"slip {fault_log.MOST_KEPT + 2}" in one.read_text() for one in kept)
    assert not any("slip 0\n" in one.read_text() for one in kept)


def test_a_log_that_cannot_be_written_is_no_second_fault(failing, tmp_path, monkeypatch):
    """Without a place for the log the line says how to see it."""
    (tmp_path / "state").write_text("no folder")
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path / "state"))
    ran = failing(ZeroDivisionError("a slip"))
    assert ran.returncode == 70
    assert "--debug" in ran.stderr
    assert ran.stderr.count("\n") == 1


@pytest.mark.parametrize("place", [0, 1, 2])
def test_debug_shows_the_traceback(evener, tmp_path, monkeypatch, place):
    """--debug, wherever it stands, shows how a fault came about, and no log is written."""

    def broken(*_args, **_more):
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr(check, "opened", broken)
    arguments = ["check", "job.toml"]
    arguments.insert(place, "--debug")
    ran = evener(*arguments, env={**os.environ, "XDG_STATE_HOME": str(tmp_path / "state")})
    assert ran.returncode == 70
    assert "Traceback" in ran.stderr
    assert "in broken" in ran.stderr
    assert not logs(tmp_path)


def test_after_two_dashes_nothing_is_taken_out():
    """An argument behind -- is an argument."""
    arguments = ["evener", "check", "--", "--debug"]
    assert not entry._debug_asked(arguments)
    assert arguments[-1] == "--debug"


@pytest.mark.parametrize(
    ("error", "status", "says"),
    [
        (MemoryError(), 3, "more memory than there is"),
        (PermissionError(13, "Permission denied", "job.toml"), 2, "job.toml: Permission denied"),
        (OSError(5, "Input/output error"), 2, "Input/output error"),
        (store.StoreBusy("own.duckdb is in use"), 3, "own.duckdb is in use"),
        (RecursionError(), 70, "RecursionError"),
        (GeneratorExit(), 70, "GeneratorExit"),
    ],
)
def test_every_kind_of_error_is_one_line(failing, error, status, says):
    """Errors of the system, of the store and of the program: the status of the plan, one line, no traceback."""
    ran = failing(error)
    assert ran.returncode == status
    assert says in ran.stderr
    assert ran.stderr.count("\n") == 1
    assert ran.stdout == ""


def test_an_interruption_is_never_called_damage(failing):
    """Ctrl-C that a library turned into an error of its own stays an interruption."""

    def said(error):
        ran = failing(error)
        assert (ran.returncode, ran.stdout, ran.stderr.count("\n")) == (130, "", 1)
        assert ran.stderr.startswith("evener: interrupted")
        return ran.stderr

    assert "whole or not at all" in said(KeyboardInterrupt())
    assert "the answers so far are in x" in said(KeyboardInterrupt("the answers so far are in x"))

    interrupts = entry._Interrupts()
    interrupts.met = True
    assert entry._ended(store.StoreDamaged("cannot be read whole"), interrupts, debug=False) == 130


def test_a_message_with_line_ends_and_controls_is_one_line(failing):
    """A name that holds line ends and escape codes cannot look like the program's own words."""
    ran = failing(store.StoreBusy("own\n\x1b[31mevener: all is well\x9b\u202e"))
    assert ran.stderr.count("\n") == 1
    assert "\x1b" not in ran.stderr
    assert "\\x1b[31m" in ran.stderr
    assert "\\u202e" in ran.stderr


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_closed_streams_end_without_a_traceback(library_store, tmp_path, closed):
    """A command whose input or output the caller closed does its work, and no file takes the place of an output."""
    path = tmp_path / "own.duckdb"
    path.write_bytes(library_store.read_bytes())
    before = path.read_bytes()
    command = f'"{sys.executable}" -m evener.cli list sources --store own.duckdb {closed}'
    ran = subprocess.run(["sh", "-c", command], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert "Traceback" not in ran.stderr
    assert path.read_bytes() == before


def test_standard_input_that_is_closed_is_an_empty_list(library_store, tmp_path):
    """An ingest from an input that was closed is wrong use, in one line."""
    path = tmp_path / "own.duckdb"
    path.write_bytes(library_store.read_bytes())
    command = f'"{sys.executable}" -m evener.cli ingest - --as tractors --kind stock --store own.duckdb <&-'
    ran = subprocess.run(["sh", "-c", command], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stderr.count("\n")) == (2, 1), ran.stderr


@pytest.mark.parametrize("after", [0.3, 0.6, 0.9, 1.2, 1.6, 2.0])
def test_interrupted_at_any_moment(library_store, tmp_path, after):
    """Ctrl-C whenever it comes: status 130 and one line, or the command was done already; the store is whole."""
    path = tmp_path / "own.duckdb"
    path.write_bytes(library_store.read_bytes())
    lines = [f"S{place},Utility,{60 + place % 40},{5900 + place % 1999}" for place in range(3000)]
    (tmp_path / "list.csv").write_text("\n".join(["id,label,engine (hp),weight (lb)", *lines]) + "\n")
    command = [sys.executable, "-m", "evener.cli", "ingest", "list.csv", "--as", "tractors", "--kind", "stock"]
    with subprocess.Popen(
        [*command, "--store", "own.duckdb"], cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        time.sleep(after)
        running.send_signal(signal.SIGINT)
        _, said = running.communicate(timeout=60)
    assert running.returncode in (0, 1, 130), said
    if running.returncode == 130:
        assert said.count("\n") == 1
        assert "interrupted" in said
    with store.open_read(path) as con:
        ((stock,),) = con.execute("SELECT count(*) FROM tractor WHERE kind = 'stock'").fetchall()
    assert stock in (0, 3000)
