"""Export, ingest into a fresh store, export again: the same bytes."""

import csv
import io
import json
import shutil

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evener.ingest.store import batches
from evener.ingest.store.export import export
from evener.schema import fields
from evener.schema.store import connection as store

TRICKY = [
    "'=1+1",
    "'-5 hp special",
    '"Quoted ""name"", with comma"',
    '"two\nlines"',
    "Grünland; Häcksler",
    "'@home",
    "1,5 m long",
    "n/a or not",
]


@pytest.fixture
def again(library_store, tmp_path):
    """Export a store's records, ingest them into a fresh store, and export those."""

    def run(path, record, **only):
        text = export(path, record, only)
        file = tmp_path / "export.csv"
        file.write_text(text, encoding="utf-8", newline="")
        fresh = shutil.copy(library_store, tmp_path / "fresh.duckdb")
        report = batches.ingest_file(fresh, file, record=record)
        assert report.quarantined == 0, [finding.message for finding in report.findings]
        return text, export(fresh, record, only), report

    return run


@pytest.mark.ci
@pytest.mark.parametrize("record", ["tractor", "implement"])
def test_the_library_is_a_fixed_point(library_store, again, record):
    """Every generic record reads back as it was: nothing new, nothing changed, the same bytes."""
    text, second, report = again(library_store, record)
    assert second == text
    assert report.unchanged == report.read == text.count("\n") - 1


def test_a_dealers_records_are_a_fixed_point(load, path, again):
    """Names that a spreadsheet would run, quoted or on two lines, estimates, lists and blanks: all stay as they are."""
    header = "Stock #,Description,Engine net hp,PTO hp,PTO speeds (rpm),Weight (lb),Wheelbase (m),owner"
    lines = [
        f"T{place},{name.replace(',', ',') if name[0] == chr(34) else name.replace(',', ' ')},73,"
        f"{'' if place % 2 else 62},540/1000,about {6900 + place},2.125,Yard {place}"
        for place, name in enumerate(TRICKY)
    ]
    report = load(*lines, header=header)
    assert (report.loaded, report.quarantined) == (len(TRICKY), 0), [one.message for one in report.findings]
    text, second, report = again(path, "tractor")
    assert second == text
    assert report.loaded == len(TRICKY)
    rows = {row["tractor_id"]: row for row in csv.DictReader(io.StringIO(text))}
    assert rows["T0"]["label"] == "'=1+1"
    assert rows["T1"]["pto_power_kw"] != ""
    sure = json.loads(rows["T1"]["estimated"])["pto_power_kw"]
    assert (sure["kind"], sure["spread_pct"]) == ("estimated", 3.0)
    assert rows["T0"]["wheelbase_m"] == "2.1250"
    with store.open_read(path) as con:
        held = {one.tractor_id: one for one in store.read_tractors(con, ["stock"])}
    assert held["T0"].label == "=1+1"
    assert held["T3"].label == "two\nlines"


NUMBERS = st.floats(0.5, 60, allow_nan=False).map(lambda value: round(value, 3))
LABELS = st.text(st.characters(exclude_categories=("C", "Z")), min_size=2, max_size=12)


@pytest.mark.ci
@settings(deadline=None, max_examples=3, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(LABELS, NUMBERS, NUMBERS), min_size=1, max_size=20))
def test_any_records_are_a_fixed_point(library_store, again, tmp_path, rows):
    """Whatever names and numbers records have, they read back to the last bit."""
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["id", "family", "label", "width (m)", "tank (L)"])
    writer.writerows(
        [f"I{place}", "tedder", f"'{label}" if label[0] in "=+-@" else f"x{label}", width, tank * 100]
        for place, (label, width, tank) in enumerate(rows)
    )
    file = tmp_path / "list.csv"
    file.write_text(out.getvalue(), encoding="utf-8", newline="")
    assert batches.ingest_file(path, file, record="implements", owner="O").loaded == len(rows)
    text, second, _ = again(path, "implement", owner="O")
    assert second == text


def test_an_export_holds_every_field_under_its_name(library_store):
    """The columns are the nomenclature's, without the ingest and line that a record has here."""
    header = export(library_store, "tractor").splitlines()[0].split(",")
    assert header == [name for name in fields.of("tractor") if name not in ("batch_id", "file_row")]


@pytest.mark.ci
def test_only_what_is_wanted(load, path):
    """An export can be of one kind and one owner."""
    load("S1,Utility,4wd,shuttle,73,62,6950,2,3900,5400", owner="Yard")
    assert export(path, "tractor", {"kind": "stock", "owner": "Yard"}).count("\n") == 2
    assert export(path, "tractor", {"kind": "stock", "owner": "Other"}).count("\n") == 1
