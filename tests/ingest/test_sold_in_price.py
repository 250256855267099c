"""A unit whose price cell says that it is sold has no price, and is in no answer."""

import shutil

import pytest

from evener.ingest.rows.meaning import meanings
from evener.ingest.store import batches
from evener.schema.store import connection as store


@pytest.mark.parametrize(("heading", "word"), [("Price", "SOLD"), ("Preis", "verkauft"), ("Prix", "vendu")])
def test_a_word_in_the_place_of_a_price_is_the_units_state(library_store, tmp_path, heading, word):
    """The word in any of the languages is taken for the state; other prices are read, and an odd one is asked."""
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    (tmp_path / "yard.csv").write_text(
        f"No,Label,PTO hp,Weight (lb),{heading}\nH1,Utility,60,5900,24500\nH2,Utility,50,4900,{word}\n"
        "H3,Utility,55,5100,ask Jo\n",
        encoding="utf-8",
    )
    report = batches.ingest_file(path, tmp_path / "yard.csv", kind="stock", owner="Nether Mill")
    with store.open_read(path) as con:
        held = {row["tractor_id"]: row for row in store.read_rows(con, "tractor") if row["owner"] == "Nether Mill"}
    assert (held["H1"]["price"], held["H1"]["stock_status"]) == (24500, None)
    assert (held["H2"]["price"], held["H2"]["stock_status"]) == (None, "sold")
    (odd,) = [one for one in report.findings if one.row == 4]
    assert "amount of money" in odd.what_to_do
    price, state = [one for one in meanings(report.rows) if one.heading == heading]
    assert [(one.field, one.example) for one in (price, state)] == [("price", "24500"), ("stock_status", word)]
