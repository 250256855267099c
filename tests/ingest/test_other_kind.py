"""Rows and lists that are not what they are read as load nothing, and ask one question that names the remedy."""

import pytest

from evener.ingest.store import lists
from evener.schema.store import connection as store

TOOLS = "Stock #,Type,Description,Width (ft),PTO hp\n11,rotary cutter,Cutter 6,6,30\n"
TRACTORS = "Stock #,Description,PTO hp,Drive\n1,Barn 45,45,4wd\n"
NOTES = "12, Barn tractor, 45, 4wd\n13, Hill tractor, 62, 4wd\n"


@pytest.mark.parametrize(
    ("text", "asked", "loaded"),
    [
        (f"TRACTORS,,,,\n{TRACTORS},,,,\nIMPLEMENTS,,,,\n{TOOLS}", ["other-kind"], ["1"]),
        ("Number,Type,Description,PTO hp\n1,Tractor,Barn,45\n2,rotary cutter,Cutter,30\n", ["other-kind"], ["1"]),
        (NOTES, ["no-headings"], []),
    ],
)
def test_what_is_no_tractor_is_none(library_store, path, tmp_path, text, asked, loaded):
    """A table or row of tools in a list read as tractors is refused by name, and a list without headings asks once."""
    (tmp_path / "list.csv").write_text(text)
    reports = lists.ingest_list(path, tmp_path / "list.csv", record="tractors", kind="stock", owner="Nether Mill")
    found = [one for report in reports for one in report.findings if one.refuses]
    assert [one.id for one in found] == asked
    assert all(one.what_to_do for one in found)
    with store.open_read(path) as con:
        held = [row["tractor_id"] for row in store.read_rows(con, "tractor") if row["owner"] == "Nether Mill"]
    assert held == loaded
