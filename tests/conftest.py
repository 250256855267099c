"""One library store for the whole run, as a user's first command builds it, and ways to run commands as a user does."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import subprocess
import sys
from unittest import mock

import pytest

from evener.cli import main
from evener.ingest.store import library as library_files
from evener.schema.store import connection as store
from evener.schema.store import shipped
from evener.scoring.core.setting import Library
from evener.scoring.ratings.refresh import refresh


@pytest.fixture(scope="session")
def library_store(tmp_path_factory):
    """Path of a store that holds the shipped library."""
    path = tmp_path_factory.mktemp("library") / "store.duckdb"
    if not shipped.lay_out(path):
        library_files.build(path, after=refresh)
    return path


@pytest.fixture(scope="session")
def library(library_store):
    """The shipped library, as scoring reads it."""
    with store.open_read(library_store) as con:
        implements = {one.implement_id: one for one in store.read_implements(con)}
        return Library(implements, store.read_families(con), store.read_rating_models(con), store.read_reference(con))


@pytest.fixture(scope="session")
def classes(library_store):
    """The generic tractor classes."""
    with store.open_read(library_store) as con:
        return store.read_tractors(con, ["class"])


def words_of(arguments, store):
    return [*map(str, arguments), *(() if store is None else ("--store", str(store)))]


@pytest.fixture(autouse=True)
def interruptible():
    """A command that ran in this process and let Ctrl-C pass at its end leaves the next test as it was."""
    before = signal.getsignal(signal.SIGINT)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture(scope="session")
def evener(library_store):
    """Run the command line from its first line to its exit status, in this process, against the library store."""

    def run(*arguments, store=library_store, input="", env=None, cwd="."):  # noqa: A002  as subprocess names it
        environment = {"COLUMNS": "80", **(os.environ if env is None else env)}
        encoding = environment.get("PYTHONIOENCODING", "utf-8")
        out, err = (io.TextIOWrapper(io.BytesIO(), encoding, errors) for errors in ("strict", "backslashreplace"))
        with (
            mock.patch.dict(os.environ, environment, clear=True),
            mock.patch.object(sys, "argv", ["evener", *words_of(arguments, store)]),
            mock.patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(input.encode()), encoding)),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            contextlib.chdir(cwd),
            pytest.raises(SystemExit) as ended,
        ):
            main.main()
        said = []
        for stream in (out, err):
            stream.flush()
            said.append(stream.buffer.getvalue().decode())
        return subprocess.CompletedProcess(arguments, ended.value.code or 0, *said)

    return run


@pytest.fixture(scope="session")
def process(library_store):
    """Run the command line in a process of its own, where what is tried is the process itself."""

    def run(*arguments, store=library_store, **options):
        command = [sys.executable, "-m", "evener.cli.main", *words_of(arguments, store)]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=60, **options)

    return run
