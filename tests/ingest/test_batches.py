"""One file into a store: all of its good rows or none, once, with what was refused kept as text."""

import json
import os
import signal
import subprocess
import sys
import textwrap

import pytest

from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files import readers
from evener.ingest.store import batches
from evener.schema import certainty
from evener.schema.store import connection as store

HEADER = (
    "Stock #,Description,Drive,Transmission,Engine net hp,PTO hp,Weight (lb),Hitch,Lift at 24 in (lb),Lift at ends (lb)"
)
GOOD = "S1,Utility,4wd,shuttle,73,62,6950,2,3900,5400"
ENGINE_ONLY = "S2,Utility,4wd,shuttle,73,,6950,2,3900,5400"
FAULTS = {
    "unknown-word": "S3,Utility,6wd,shuttle,73,62,6950,2,3900,5400",
    "unreadable-cell": "S4,Utility,4wd,shuttle,73,62,6950 hp,2,3900,5400",
    "out-of-bounds": "S5,Utility,4wd,shuttle,73,62,695000,2,3900,5400",
    "order-reversed": "S6,Utility,4wd,shuttle,30,75,6950,2,3900,5400",
    "odd-ratio": "S7,Utility,4wd,shuttle,73,62,1500,2,3900,",
    "missing-value": "S8,,4wd,shuttle,73,62,6950,2,3900,5400",
    "range-not-kept": "S9,Utility,4wd,shuttle,73,60-65,6950,2,3900,5400",
    "ragged-row": "S10,Utility,4wd",
    "name-taken": "utility-50-4wd,Utility,4wd,shuttle,73,62,6950,2,3900,5400",
}
# The others leave one field unknown.
REFUSING = ["order-reversed", "odd-ratio", "missing-value", "ragged-row", "name-taken"]


def counts(report):
    """The counts of a report."""
    return (report.read, report.loaded, report.unchanged, report.superseded, report.quarantined)


def ids(report):
    """The findings of a report."""
    return [finding.id for finding in report.findings]


def rows_of(path, record):
    """All rows of a table."""
    with store.open_read(path) as con:
        return store.read_rows(con, record)


def stock(path):
    """The stock tractors by id."""
    with store.open_read(path) as con:
        return {tractor.tractor_id: tractor for tractor in store.read_tractors(con, ["stock"])}


@pytest.mark.ci
def test_good_rows_load_in_si(load, path):
    """A row comes out in SI units with its line, its batch and the file as its source."""
    report = load(GOOD)
    assert counts(report) == (1, 1, 0, 0, 0)
    assert report.findings == ()
    (tractor,) = stock(path).values()
    assert tractor.mass_kg == pytest.approx(3152.4669715)
    assert tractor.pto_power_kw == pytest.approx(62 * 0.74569987158227022)
    assert (tractor.engine_power_kind, tractor.hitch_category, tractor.drive) == ("net", "2", "4wd")
    assert (tractor.batch_id, tractor.file_row) == (report.batch_id, 2)
    assert (tractor.source_id, tractor.status) == ("file:stock.csv", "stated")
    assert tractor.estimated == {}
    assert "file:stock.csv" in {row["source_id"] for row in rows_of(path, "source")}


@pytest.mark.ci
def test_a_missing_pto_power_is_estimated_and_marked(load, path):
    """Only engine power known: PTO power is 0.90 of the net power (Arizona), and the record says so."""
    load(ENGINE_ONLY)
    tractor = stock(path)["S2"]
    assert tractor.pto_power_kw == pytest.approx(0.90 * tractor.engine_power_kw)
    assert list(tractor.estimated) == ["pto_power_kw"]
    sure = tractor.estimated["pto_power_kw"]
    assert (sure.kind, sure.spread_pct) == ("estimated", 3.0)
    assert "net engine power" in sure.basis


def test_about_is_marked_as_an_estimate(load, path):
    """A value the cell gives as about so much is marked as such."""
    load(GOOD.replace("6950", "about 6950"))
    assert stock(path)["S1"].estimated == {"mass_kg": certainty.ABOUT}


@pytest.mark.ci
def test_an_estimate_without_a_figure_loads_with_its_words(load, path):
    """A list that says of a value what it rests on, without a spread, keeps those words and invents no number."""
    cell = '"{""pto_power_kw"": ""dyno in the yard, +- a few hp""}"'
    report = load(f"{GOOD},{cell}", header=f"{HEADER},estimated")
    assert (report.loaded, report.findings) == (1, ())
    assert stock(path)["S1"].estimated == {
        "pto_power_kw": certainty.Certainty("estimated", basis="dyno in the yard, +- a few hp")
    }


@pytest.mark.ci
@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        ('{"power": "read off"}', "'power' is no field of tractor"),
        ('{"mass_kg": {"kind": "sure"}}', "mass_kg: kind is one of about, range, estimated"),
        ('{"mass_kg": {"kind": "estimated", "spread_pct": 300}}', "mass_kg: a spread lies between 0 and 100 %"),
        ("a few hp", "no JSON by field"),
    ],
)
def test_a_certainty_that_says_nothing_is_refused(load, cell, problem):
    """A cell of certainties names fields of the record and a kind with sound numbers, or its row is refused."""
    quoted = '"' + cell.replace('"', '""') + '"'
    report = load(f"{GOOD},{quoted}", header=f"{HEADER},estimated")
    assert report.quarantined == 1
    assert problem in report.findings[0].message


@pytest.mark.ci
def test_each_fault_is_one_finding_and_the_others_load(load, path):
    """Nine rows of nine faults among two good ones: nine findings, each with its line; what costs one field loads."""
    report = load(GOOD, *FAULTS.values(), ENGINE_ONLY)
    assert counts(report) == (11, 6, 0, 0, 5)
    assert [(finding.id, finding.row) for finding in report.findings] == [
        (fault, line) for line, fault in enumerate(FAULTS, 3)
    ]
    held = stock(path)
    assert set(held) == {"S1", "S2", "S3", "S4", "S5", "S9"}
    assert (held["S3"].drive, held["S4"].mass_kg, held["S5"].mass_kg) == (None, None, None)
    assert "engine power" in held["S9"].estimated["pto_power_kw"].basis
    assert [finding.id for finding in report.findings if finding.stops] == REFUSING


def test_a_cell_left_unknown_stays_with_its_record(load, path):
    """The text of a cell that cannot be read is kept beside the record, by its heading."""
    load(GOOD, FAULTS["unreadable-cell"], FAULTS["unknown-word"])
    kept = {row["file_row"]: json.loads(row["raw"]) for row in rows_of(path, "unplaced")}
    assert kept == {3: {"Weight (lb)": "6950 hp"}, 4: {"Drive": "6wd"}}


@pytest.mark.ci
def test_refused_rows_are_kept_as_text(load, path):
    """Every refused row is in the quarantine with its text by heading and its findings."""
    load(*FAULTS.values())
    kept = rows_of(path, "quarantine")
    assert [row["file_row"] for row in kept] == [2 + list(FAULTS).index(name) for name in REFUSING]
    first = json.loads(kept[0]["raw"])
    assert first["PTO hp"] == "75"
    assert list(first) == HEADER.split(",")
    assert [json.loads(row["findings"])[0]["id"] for row in kept] == REFUSING
    assert json.loads(kept[3]["raw"]) == {"cell 1": "S10", "cell 2": "Utility", "cell 3": "4wd"}


@pytest.mark.ci
def test_two_rows_of_one_name_are_both_refused(load, path):
    """A doubled name is one finding, and neither row is taken for the right one."""
    report = load(GOOD, GOOD.replace("6950", "7000"), ENGINE_ONLY)
    assert ids(report) == ["double-key"]
    assert counts(report) == (3, 1, 0, 0, 2)
    assert set(stock(path)) == {"S2"}


def test_the_same_file_again_changes_nothing(load, path):
    """Loaded twice is loaded once: no row, batch, quarantine or history more, and the first batch is named."""
    first = load(GOOD, FAULTS["order-reversed"])
    before = {record: rows_of(path, record) for record in ("tractor", "batch", "quarantine", "history", "source")}
    again = load(GOOD, FAULTS["order-reversed"])
    assert counts(again) == (2, 0, 1, 0, 1)
    assert again.batch_id == first.batch_id
    assert before == {record: rows_of(path, record) for record in before}


@pytest.mark.ci
def test_the_same_figures_in_the_owners_next_file_are_unchanged(load):
    """The same rows under another file name are no correction."""
    load(GOOD, name="october.csv")
    assert counts(load(GOOD, ENGINE_ONLY, name="november.csv")) == (2, 1, 1, 0, 0)


def test_a_changed_row_supersedes_and_history_keeps_the_old(load, path):
    """A corrected figure takes the place of the old one, whose version stays with both batches."""
    first = load(GOOD, ENGINE_ONLY)
    second = load(GOOD.replace("6950", "7100"), ENGINE_ONLY)
    assert counts(second) == (2, 0, 1, 1, 0)
    assert stock(path)["S1"].mass_kg == pytest.approx(7100 * 0.45359237)
    (old,) = rows_of(path, "history")
    assert (old["record"], old["key"], old["batch_id"], old["superseded_by"]) == (
        "tractor",
        "S1",
        first.batch_id,
        second.batch_id,
    )
    assert json.loads(old["version"])["mass_kg"] == pytest.approx(6950 * 0.45359237)


def test_a_record_of_somebody_else_is_not_replaced(load, path):
    """Without an owner of its own, a number that belongs to an owner is refused; so is a generic class replaced."""
    load(GOOD, owner="North yard")
    report = load(GOOD.replace("6950", "7000"))
    assert ids(report) == ["name-taken"]
    assert "North yard" in report.findings[0].message
    assert stock(path)["S1"].owner == "North yard"
    assert ids(load(FAULTS["name-taken"], owner="North yard")) == ["name-taken"]


@pytest.mark.parametrize(
    ("header", "finding_id"),
    [
        (HEADER.replace("Engine net hp", "Paint").replace("PTO hp", "HP"), "bare-power"),
        (HEADER.replace("Weight (lb)", "Stock number"), "double-column"),
        (HEADER.replace("Description", "Colour"), "missing-column"),
    ],
)
def test_a_wrong_heading_stops_the_file(load, path, header, finding_id):
    """Without a heading that names the rows, or the one power there is, nothing is loaded, and nothing half."""
    report = load(GOOD, header=header)
    assert [finding.id for finding in report.findings if finding.refuses] == [finding_id]
    assert report.batch_id is None
    assert report.loaded == 0
    assert stock(path) == {}


@pytest.mark.ci
@pytest.mark.parametrize(
    ("header", "finding_id", "field"),
    [
        (HEADER.replace("PTO hp", "HP"), "bare-power", "pto_power_kw"),
        (HEADER.replace("Weight (lb)", "Weight (gal)"), "wrong-header-unit", "mass_kg"),
        (HEADER.replace("Weight (lb)", "Weight"), "no-unit", "mass_kg"),
        (HEADER.replace("Lift at ends (lb)", "Mass (kg)"), "double-column", "mass_kg"),
    ],
)
def test_a_heading_that_costs_one_field_leaves_it_unknown(load, path, header, finding_id, field):
    """A column whose meaning cannot be told is kept as text, and asked; the rows load without it."""
    report = load(GOOD, header=header)
    (finding,) = [one for one in report.findings if one.unread]
    assert (finding.id, report.loaded) == (finding_id, 1)
    assert finding.message.endswith("left unknown")
    sure = stock(path)["S1"]
    assert getattr(sure, field) is None or field in sure.estimated


def test_without_a_kind_the_option_is_named(load):
    """A file that does not say whether its tractors are stock or members' is told how to."""
    report = load(GOOD, kind=None)
    (finding,) = [finding for finding in report.findings if finding.refuses]
    assert finding.id == "missing-column"
    assert "--kind" in finding.what_to_do


def test_a_mapping_settles_a_bare_power(load, path):
    """A bare power column loads once its field and unit are chosen."""
    report = load(
        GOOD, header=HEADER.replace("PTO hp", "HP"), mapping=FileMapping({"HP": Choice("pto_power_kw", "hp")})
    )
    assert report.loaded == 1
    assert report.mapping["HP"] == ("pto_power_kw", "hp")
    assert stock(path)["S1"].pto_power_kw == pytest.approx(62 * 0.74569987158227022)


@pytest.mark.ci
def test_a_dry_run_counts_and_changes_nothing(load, path):
    """A dry run reports what would be loaded, changed and refused, and leaves every byte."""
    load(GOOD)
    before = path.read_bytes()
    report = load(GOOD.replace("6950", "7100"), ENGINE_ONLY, FAULTS["order-reversed"], dry_run=True)
    assert counts(report) == (3, 1, 0, 1, 1)
    assert report.batch_id is None
    assert path.read_bytes() == before


@pytest.mark.ci
def test_one_good_copy_is_kept_before_each_ingest(load, path):
    """Beside the store is its state of before the last ingest."""
    load(GOOD)
    load(ENGINE_ONLY, name="more.csv")
    assert set(stock(path)) == {"S1", "S2"}
    assert set(stock(path.with_name("own.duckdb.previous"))) == {"S1"}


IMPLEMENTS = "id,family,label,width (ft),rated PTO power (hp),mass (lb),source_id\n"


def test_families_are_known_by_their_names(path, tmp_path):
    """A family's other names are understood; an unknown family or source is refused with a hint."""
    file = tmp_path / "own.csv"
    file.write_text(
        IMPLEMENTS
        + "A,Brush mower,cutter,6,30-65,900,PRACTICE\n"
        + "B,rotary cuter,cutter,6,30,900,PRACTICE\n"
        + "C,tedder,t,10,20,600,PRACTISE\n"
    )
    report = batches.ingest_file(path, file, record="implements")
    assert ids(report) == ["unknown-reference", "unknown-reference"]
    assert "rotary_cutter" in report.findings[0].message
    assert "PRACTICE" in report.findings[1].message
    with store.open_read(path) as con:
        (cutter,) = store.read_implements(con, ["A"])
    assert cutter.family == "rotary_cutter"
    assert cutter.max_pto_power_kw == pytest.approx(65 * 0.74569987158227022)


@pytest.mark.ci
def test_what_follows_a_change_of_implements_is_in_the_same_transaction(path, tmp_path, load):
    """The hook runs when implement records changed, not for tractors; if it fails, nothing was loaded."""
    called = []
    load(GOOD, after=called.append)
    assert called == []
    file = tmp_path / "own.csv"
    file.write_text(IMPLEMENTS + "A,tedder,t,10,20,600,PRACTICE\n")

    def fail(con):
        raise RuntimeError

    with pytest.raises(RuntimeError):
        batches.ingest_file(path, file, record="implements", after=fail)
    with store.open_read(path) as con:
        assert store.read_implements(con, ["A"]) == []
    batches.ingest_file(path, file, record="implements", after=called.append)
    assert len(called) == 1


def test_a_corrected_parameter_supersedes(path, tmp_path):
    """A parameter table is corrected by the same path: one row changes, the others stay."""
    file = tmp_path / "prior.csv"
    lines = [",".join(map(str, row.values())) for row in _prior_rows(path)]
    header = ",".join(_prior_rows(path)[0])
    changed = lines[0].replace("0.05", "0.06")
    assert changed != lines[0]
    file.write_text("\n".join([header, changed, *lines[1:]]) + "\n")
    report = batches.ingest_file(path, file, record="prior")
    assert (report.superseded, report.unchanged, report.loaded) == (1, len(lines) - 1, 0)


def _prior_rows(path):
    kept = ("quantity", "family", "land", "low", "usual", "high", "shape", "unit", "source_id", "status")
    return [
        {name: "" if row[name] is None else row[name] for name in kept}
        | {"note": (row["note"] or "").replace(",", ";")}
        for row in rows_of(path, "prior")
        if "," not in (row["note"] or "")
    ]


@pytest.mark.ci
def test_the_order_of_rows_does_not_matter(load, path):
    """The same rows in another order are the same records."""
    load(GOOD, ENGINE_ONLY)
    assert counts(load(ENGINE_ONLY, GOOD)) == (2, 0, 2, 0, 0)


@pytest.mark.ci
def test_a_killed_ingest_leaves_all_or_nothing(path, tmp_path):
    """Killed inside the transaction, the store is as before; run again, it is complete."""
    file = tmp_path / "stock.csv"
    file.write_text(f"{HEADER}\n{GOOD}\n{ENGINE_ONLY}\n")
    killed = """
        import os, signal, sys
        from pathlib import Path
        from evener.ingest.store import batches, entering
        entered = entering.enter
        def kill(*arguments):
            entered(*arguments)
            os.kill(os.getpid(), signal.SIGKILL)
        entering.enter = kill
        batches.ingest_file(Path(sys.argv[1]), Path(sys.argv[2]), kind="stock")
    """
    command = [sys.executable, "-c", textwrap.dedent(killed), str(path), str(file)]
    assert subprocess.run(command, check=False).returncode == -signal.SIGKILL
    assert stock(path) == {}
    assert batches.ingest_file(path, file, kind="stock").loaded == 2
    assert set(stock(path)) == {"S1", "S2"}


def test_wrong_words_and_files_are_said(path, tmp_path):
    """An unknown kind of record and a missing file are refused before the store is touched."""
    with pytest.raises(ValueError, match="'horses' cannot be loaded; it takes tractors, implements"):
        batches.ingest_file(path, tmp_path / "none.csv", record="horses")
    with pytest.raises(readers.UnreadableFile, match="no file"):
        batches.ingest_file(path, tmp_path / "none.csv")
    assert not os.path.lexists(path.with_name("own.duckdb.previous"))


def test_the_report_is_the_json_contract(load):
    """A report as JSON has the promised keys, and each finding its six, with how many rows it stands on."""
    answer = load(GOOD, FAULTS["unknown-word"]).as_dict()
    assert list(answer) == [
        "batch_id",
        "read",
        "loaded",
        "unchanged",
        "superseded",
        "quarantined",
        "findings",
        "columns",
    ]
    assert list(answer["findings"][0]) == ["id", "row", "column", "raw", "message", "remedy", "count", "lines"]
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer
