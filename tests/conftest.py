"""One library store for the whole run, as a user's first command builds it."""

from __future__ import annotations

import pytest

from evener.ingest.store import library as library_files
from evener.schema.store import connection as store
from evener.schema.store import shipped
from evener.scoring.core.setting import Library
from evener.scoring.ratings import model as ratings


@pytest.fixture(scope="session")
def library_store(tmp_path_factory):
    """Path of a store that holds the shipped library."""
    path = tmp_path_factory.mktemp("library") / "store.duckdb"
    if not shipped.lay_out(path):
        library_files.build(path, after=ratings.refresh)
    return path


@pytest.fixture(scope="session")
def library(library_store):
    """The shipped library, as scoring reads it."""
    with store.open_read(library_store) as con:
        implements = {one.implement_id: one for one in store.read_implements(con)}
        return Library(implements, store.read_families(con), store.read_rating_fits(con), store.read_reference(con))


@pytest.fixture(scope="session")
def classes(library_store):
    """The generic tractor classes."""
    with store.open_read(library_store) as con:
        return store.read_tractors(con, ["class"])
