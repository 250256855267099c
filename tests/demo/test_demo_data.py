"""The invented scenario that ships: it loads without a finding, says that it is invented, and shows what it is for."""

import csv
import datetime as dt
import importlib.util
import shlex
import shutil
import sys
from importlib import resources
from pathlib import Path

import answers
import openpyxl
import pytest

from evener.cli import main
from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.words import Vocabulary
from evener.ingest.store import batches, library
from evener.schema.store import connection as store
from evener.schema.store import shipped

DEMO = resources.files("evener.demo_db")
SHEETS = ["ridge", "seldom_dry", "little_elsewhere", "further_than_it_looks"]


@pytest.fixture(scope="module")
def words(library_store):
    """Return the words of the shipped library."""
    with store.open_read(library_store) as con:
        families = store.read_families(con).values()
        implements = {one.implement_id: one.family for one in store.read_implements(con)}
    return Vocabulary.of(families, implements=implements)


def sheet(name, words):
    """Read one demo sheet."""
    return read_jobsheet_text(DEMO.joinpath("jobs", f"{name}.toml").read_text(encoding="utf-8"), words)


@pytest.mark.parametrize("name", SHEETS)
def test_demo_sheets_are_read_without_a_finding(name, words):
    """Every demo sheet is a sheet that can be sized."""
    job, findings = sheet(name, words)
    assert findings == []
    assert job.tasks


def test_bad_sheet_reports_its_ten_planted_mistakes(words):
    """The bad sheet has ten different mistakes, and ten are reported, each at its line."""
    job, findings = sheet("bad", words)
    assert job is None
    assert [(finding.row, finding.id) for finding in findings] == [
        (5, "sheet-no-unit"),
        (6, "sheet-word"),
        (10, "sheet-unit"),
        (18, "sheet-family"),
        (24, "sheet-bounds"),
        (28, "sheet-duplicate"),
        (30, "sheet-land"),
        (36, "sheet-type"),
        (37, "sheet-unknown-key"),
        (43, "sheet-word"),
    ]


def test_ridge_leaves_what_decides_open(words):
    """The main sheet leaves the thickest stem open, and has a plan with a chance and a machine already owned."""
    job, _ = sheet("ridge", words)
    scrub = job.tasks[0]
    assert (scrub.stem_m.given, scrub.growth.among) == ("range", ("normal", "thick"))
    assert [task.name for task in job.tasks if task.planned] == ["Blow snow off the drive"]
    assert job.machines[0].takes == ("Set fence posts",)


@pytest.mark.ci
def test_the_thickest_stem_decides_the_size_at_the_ridge(words, library, classes):
    """Thicker stems never ask for a smaller tractor, and the thickest cost the pick of the thin ones more."""
    text = DEMO.joinpath("jobs", "ridge.toml").read_text(encoding="utf-8")
    picks, undone = {}, {}
    for stems in ("1 to 3 in", "1 in", "3 in"):
        job, findings = read_jobsheet_text(text.replace('stems = "1 to 3 in"', f'stems = "{stems}"'), words)
        assert findings == []
        answer = answers.rank(job, library, classes, top=30)
        picks[stems] = answer["size"]["pto_power"]
        undone[stems] = next(one["a_year"] for one in answer["tractors"] if one["tractor_id"] == "utility-50-4wd")
    assert picks["1 in"] <= picks["1 to 3 in"] <= picks["3 in"]
    assert undone["1 in"] < undone["3 in"]


@pytest.fixture(scope="module")
def demo_store(tmp_path_factory):
    """Build a store with the demo's files, and return the report of each."""
    path = tmp_path_factory.mktemp("demo") / "demo.duckdb"
    library.build(path)
    reports = {}
    for name, record, kind, owner in (
        ("stock.csv", "tractors", "stock", "Demo dealer"),
        ("members_tractors.csv", "tractors", "member", None),
        ("members_implements.csv", "implements", None, None),
    ):
        with resources.as_file(DEMO / name) as file:
            reports[name] = batches.ingest_file(path, file, record=record, kind=kind, owner=owner)
    return path, reports


@pytest.mark.ci
@pytest.mark.parametrize(
    ("name", "rows"), [("stock.csv", 60), ("members_tractors.csv", 5), ("members_implements.csv", 11)]
)
def test_demo_files_load_whole_and_without_a_finding(name, rows, demo_store):
    """Every row of the demo's files is loaded and nothing about them is remarked."""
    _, reports = demo_store
    report = reports[name]
    assert (report.read, report.loaded, report.quarantined, report.findings) == (rows, rows, 0, ())


@pytest.mark.ci
def test_demo_records_say_that_they_are_invented(demo_store):
    """No demo number can be taken for a published one."""
    path, _ = demo_store
    with store.open_read(path) as con:
        tractors = [one for one in store.read_tractors(con) if one.kind != "class"]
        implements = [one for one in store.read_implements(con) if one.owner]
    assert {one.status for one in (*tractors, *implements)} == {"invented"}
    assert {one.owner for one in tractors if one.kind == "member"} == {
        "Seldom Dry",
        "Little Elsewhere",
        "Further Than It Looks",
    }


def test_stock_lacks_numbers_as_used_stock_does():
    """Some units come without a price, a lift or PTO power, some without a loader, and none without engine power."""
    rows = list(csv.DictReader(DEMO.joinpath("stock.csv").read_text(encoding="utf-8").splitlines()))
    missing = {name: sum(row[name] == "" for row in rows) for name in rows[0]}
    for name in ("asking price", "PTO power (hp)", "lift at 24 in (lb)", "loader lift (lb)", "hours (h)"):
        assert 0 < missing[name] < len(rows) / 2, name
    assert missing["engine power (hp)"] == 0
    assert len({row["stock number"] for row in rows}) == len(rows)


def test_sheets_and_files_say_that_they_are_invented():
    """Each job sheet says in its first line that it is invented."""
    for name in (*SHEETS, "bad"):
        first = DEMO.joinpath("jobs", f"{name}.toml").read_text(encoding="utf-8").splitlines()[0]
        assert "invented" in first, name


def test_the_shipped_workbook_is_what_its_program_writes():
    """The untidy workbook's cells are those of the program beside this test."""
    spec = importlib.util.spec_from_file_location("dealer_list", Path(__file__).with_name("dealer_list.py"))
    program = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(program)
    with resources.as_file(DEMO / "lists" / "dealer_list.xlsx") as file:
        shipped = openpyxl.load_workbook(file)
    made = program.workbook()
    assert shipped.sheetnames == made.sheetnames
    for name in made.sheetnames:
        cells = [[cell.value for cell in row] for row in made[name].iter_rows()]
        for row in cells:
            row[:] = [dt.datetime.combine(cell, dt.time()) if type(cell) is dt.date else cell for cell in row]
        assert [[cell.value for cell in row] for row in shipped[name].iter_rows()] == cells


@pytest.mark.ci
def test_the_readmes_commands_load_the_lists(library_store, tmp_path, monkeypatch, capfd):
    """An untidy dealer's and a member's list load with the README's own commands, and what is wrong in them waits."""
    root = Path(__file__).resolve().parents[2]
    commands = [
        shlex.split(line)[1:]
        for line in root.joinpath("README.md").read_text(encoding="utf-8").splitlines()
        if line.startswith(("evener ingest demo_db", "evener list quarantine"))
    ]
    assert len(commands) == 4
    path = shutil.copy(library_store, tmp_path / "own.duckdb")
    monkeypatch.chdir(root)
    said = []
    for command in commands:
        monkeypatch.setattr(sys, "argv", ["evener", *command, "--store", str(path)])
        with pytest.raises(SystemExit) as ended:
            main.main()
        said.append((ended.value.code, capfd.readouterr().out))
    assert [status for status, _ in said] == [1, 1, 1, 0]
    assert "left unknown" in " ".join(said[0][1].split())
    with store.open_read(path) as con:
        tractors, implements = store.read_tractors(con, ["stock"]), store.read_implements(con)
    assert {one.tractor_id for one in tractors} == {f"Q-{place}" for place in (102, 103, 104, 105, 106, 107, 109, 110)}
    member = {one.implement_id: one for one in implements if one.owner == "Third Neighbour"}
    assert {one.status for one in (*tractors, *member.values())} == {"invented"}
    assert member["third-1"].working_width_m == 1.83
    assert member["third-6"].rated_pto_power_kw == pytest.approx(27.5 * 0.73549875)
    assert said[3][1].count(f"B{len(shipped.files()) + 1:04d}") == 3
