"""Which tractor records are read for an answer."""

from pathlib import Path

import pytest

import evener
from evener.schema.store import connection

RIDGE = Path(__file__).resolve().parents[2] / "demo_db" / "jobs" / "ridge.toml"


@pytest.fixture
def read(monkeypatch):
    """The kinds that were asked of the store, each time tractor records were read."""
    asked, real = [], connection.read_tractors

    def listen(con, kinds=None, ids=()):
        asked.append(None if kinds is None else set(kinds))
        return real(con, kinds, ids)

    monkeypatch.setattr(connection, "read_tractors", listen)
    return asked


@pytest.mark.ci
def test_a_rank_among_classes_reads_no_stock(library_store, read):
    """Ranking classes takes the classes from the store, and neither stock nor members' tractors."""
    answer = evener.open(library_store).rank(RIDGE)
    assert answer.pick is not None
    assert read == [{"class"}]


@pytest.mark.ci
def test_a_rank_among_stock_reads_stock_and_classes(library_store, read):
    """Classes are read with the stock: they stand in for what a record does not state."""
    evener.open(library_store).rank(RIDGE, among=("stock",))
    assert read == [{"class", "stock"}]
