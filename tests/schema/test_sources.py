"""Sources are citations that name a body or an author, and the shipped records repeat no maker's table."""

import csv
import hashlib
import re
from importlib import resources
from pathlib import Path

import pytest

from evener.schema.store import connection as store

ROWS = list(
    csv.DictReader(
        resources.files("evener.schema").joinpath("reference", "sources.csv").read_text("utf-8").splitlines()
    )
)
KEPT_OUT = frozenset((Path(__file__).parent.parent / "kept_out.txt").read_text("ascii").split())
SEEN = re.compile(
    r"(publisher's|maker's) (copy|abstract)|second-hand cop(y|ies)|not seen|edition named in public texts"
)
INCH = 0.0254


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["source_id"])
def test_a_source_is_a_citation_and_says_how_it_was_seen(row):
    """Each source has a citation without an address or a maker, and says which copy was seen."""
    assert len(row["citation"]) > 15 or row["source_id"] == "PRACTICE"
    assert not re.search(r"https?:|www\.|\.(com|org|net|edu)\b|/manual|page=", " ".join(row.values()))
    assert SEEN.search(row["where_seen"]) or row["source_id"] == "PRACTICE", row["where_seen"]
    if "manual" in row["citation"].casefold() and row["citation"].startswith("Operator"):
        assert row["citation"].endswith("maker not named")


def test_what_was_not_seen_is_from_memory_and_what_was_seen_says_how():
    """A source of which nothing was seen is never called published."""
    assert not [row["source_id"] for row in ROWS if row["where_seen"] == "not seen" and row["status"] == "published"]


def repeated(records):
    """Return the records that have the size of a machine in a table that belongs to one maker."""
    sizes = [f"{family} {round(width / INCH)} in" for family, width in records]
    return [size for size in sizes if hashlib.sha256(size.encode()).hexdigest()[:20] in KEPT_OUT]


def test_no_record_of_the_library_repeats_a_makers_row(library_store):
    """No shipped machine has the odd width of one maker's table; an invented one that has is noticed."""
    with store.open_read(library_store) as con:
        implements = store.read_implements(con)
    records = [(one.family, one.working_width_m) for one in implements if one.working_width_m]
    assert len(records) > 300
    assert repeated(records) == []
    assert repeated([*records, ("invented_family", 99 * INCH)]) == ["invented_family 99 in"]
