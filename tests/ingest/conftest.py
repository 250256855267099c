"""A store of one's own with the library, and lists of tractors to load into it."""

from __future__ import annotations

import shutil

import pytest

from evener.ingest.store import batches
from evener.schema.store import connection as store

HEADER = (
    "Stock #,Description,Drive,Transmission,Engine net hp,PTO hp,Weight (lb),Hitch,Lift at 24 in (lb),Lift at ends (lb)"
)


@pytest.fixture
def path(library_store, tmp_path):
    """A library store of one's own."""
    return shutil.copy(library_store, tmp_path / "own.duckdb")


@pytest.fixture
def load(path, tmp_path):
    """Write lines to a file and load it."""

    def run(*lines, header=HEADER, name="stock.csv", **options):
        file = tmp_path / name
        file.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
        return batches.ingest_file(path, file, **{"kind": "stock", **options})

    return run


@pytest.fixture
def rows_of(path):
    """All rows of a table."""

    def read(record):
        with store.open_read(path) as con:
            return store.read_rows(con, record)

    return read
