"""`evener ingest`, `undo`, `export`, `list quarantine` and `recover` as a user runs them."""

import csv
import io
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from evener import opening
from evener.cli import main
from evener.ingest.store import batches
from evener.schema.store import connection as store
from evener.schema.store import shipped

FIRST, SECOND = (f"B{len(shipped.files()) + number:04d}" for number in (1, 2))
HEADER = "Stock #,Description,Engine net hp,PTO hp,Weight (lb),Hitch\n"
GOOD = "S1,Utility,73,62,6950,2\nS2,Utility,60,51,5900,2\n"
WRONG = "S3,Utility,53,62,6950,2\n"


@pytest.fixture
def own(library_store, tmp_path):
    """A store of one's own."""
    return shutil.copy(library_store, tmp_path / "own.duckdb")


@pytest.fixture
def run(own, tmp_path, monkeypatch, capfd):
    """Run the program in this process on one's own store, in a folder with a list in it."""
    (tmp_path / "stock.csv").write_text(HEADER + GOOD + WRONG)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")

    def run(*arguments, store=own, input=""):  # noqa: A002  as subprocess names it
        monkeypatch.setattr(sys, "argv", ["evener", *map(str, arguments), "--store", str(store)])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(input.encode())))
        capfd.readouterr()
        with pytest.raises(SystemExit) as ended:
            main.main()
        said = capfd.readouterr()
        return subprocess.CompletedProcess(arguments, ended.value.code or 0, said.out, said.err)

    return run


FULL = Path("/dev/full")
STOCK = ("--as", "tractors", "--kind", "stock")


def test_an_ingest_says_what_became_of_the_rows(run):
    """The counts come first, with what to type next; then each finding with its line, its text and what to do."""
    ran = run("ingest", "stock.csv", *STOCK)
    assert ran.returncode == 1, ran.stderr
    lines = ran.stdout.splitlines()
    assert lines[0] == "stock.csv: 3 rows of tractors"
    assert lines[2].split() == ["loaded", "2"]
    assert lines[3].split()[:2] == ["refused", "1;"]
    assert f"evener list quarantine --batch {FIRST} --format csv" in lines[3]
    assert f"evener undo {FIRST}" in lines[4]
    assert "1 finding" in lines
    assert "pto_power_kw (46.23 kW)" in ran.stdout or "power is" in ran.stdout
    again = run("ingest", "stock.csv", *STOCK)
    assert f"nothing new; {FIRST} loaded the same" not in again.stdout
    assert again.stdout.splitlines()[2].split() == ["loaded", "0"]
    assert again.stdout.splitlines()[3].split()[:2] == ["unchanged", "2,"]


@pytest.mark.ci
def test_a_file_without_findings_ends_well(run, tmp_path):
    """Status 0 where nothing was found, also the second time."""
    (tmp_path / "stock.csv").write_text(HEADER + GOOD)
    assert run("ingest", "stock.csv", *STOCK).returncode == 0
    second = run("ingest", "stock.csv", *STOCK)
    assert second.returncode == 0
    assert f"nothing new; {FIRST} loaded the same" in second.stdout


@pytest.mark.ci
def test_json_is_the_contract(run, answer_schema, own, tmp_path):
    """The JSON of one file and of several is valid against the shipped schema, and is what the Python call returns."""
    printed = json.loads(run("ingest", "stock.csv", *STOCK, "--format", "json").stdout)
    answer_schema("ingest").validate(printed)
    report = batches.ingest_file(own, tmp_path / "stock.csv", kind="stock")
    same = {"schema": 1, "file": "stock.csv", **report.as_dict()}
    assert printed["findings"] == same["findings"]
    assert (printed["batch_id"], printed["quarantined"]) == (same["batch_id"], same["quarantined"])
    several = run("ingest", "stock.csv", "stock.csv", *STOCK, "--dry-run", "--format", "json")
    answer_schema("ingest").validate(json.loads(several.stdout))
    assert [one["file"] for one in json.loads(several.stdout)["files"]] == ["stock.csv", "stock.csv"]
    found = list(csv.DictReader(io.StringIO(run("ingest", "stock.csv", *STOCK, "--format", "csv").stdout)))
    assert [(row["file"], row["id"], row["row"]) for row in found] == [("stock.csv", "order-reversed", "4")]


def test_a_bare_power_asks_and_a_mapping_answers(run, tmp_path):
    """Nothing is loaded while a power is not said; the dry run's mapping, with one choice made, loads the file."""
    (tmp_path / "stock.csv").write_text((HEADER + GOOD).replace("PTO hp", "HP").replace("Engine net hp", "Hours"))
    before = (tmp_path / "own.duckdb").read_bytes()
    asked = run("ingest", "stock.csv", *STOCK, "--dry-run", "--write-mapping", "map.toml")
    assert asked.returncode == 1
    assert "is loaded until this is settled" in asked.stdout
    assert "engine power or PTO power" in " ".join(asked.stdout.split())
    assert "map.toml" in asked.stderr
    assert (tmp_path / "own.duckdb").read_bytes() == before
    chosen = (tmp_path / "map.toml").read_text().replace('# "HP" = { field = "pto', '"HP" = { field = "pto')
    (tmp_path / "map.toml").write_text(chosen)
    loaded = run("ingest", "stock.csv", *STOCK, "--mapping", "map.toml")
    assert loaded.returncode == 0, loaded.stdout
    assert loaded.stdout.splitlines()[2].split() == ["loaded", "2"]


def test_a_dry_run_shows_the_mapping_and_changes_nothing(run, tmp_path):
    """Every heading with field, unit, cells read and first cell; the store keeps every byte, and no copy appears."""
    before = (tmp_path / "own.duckdb").read_bytes()
    ran = run("ingest", "stock.csv", *STOCK, "--dry-run")
    assert "a dry run, nothing was changed" in ran.stdout.splitlines()[0]
    table = ran.stdout.split("What the columns mean")[1]
    assert ["Weight", "(lb)", "mass_kg", "lb", "3", "6950"] in [line.split() for line in table.splitlines()]
    assert (tmp_path / "own.duckdb").read_bytes() == before
    assert not (tmp_path / "own.duckdb.previous").exists()


@pytest.mark.ci
def test_standard_input_is_a_file(run, own):
    """A list piped in is read as one, with - as its name."""
    ran = run("ingest", "-", *STOCK, input=HEADER + GOOD)
    assert ran.returncode == 0, ran.stderr
    with store.open_read(own) as con:
        assert {one.source_id for one in store.read_tractors(con, ["stock"])} == {"file:standard input"}


@pytest.mark.ci
def test_refused_rows_are_corrected_and_ingested(run, tmp_path, answer_schema):
    """The list of refused rows, one cell put right, loads; nothing waits, and undoing both leaves no trace."""
    run("ingest", "stock.csv", *STOCK)
    answer_schema("quarantine").validate(json.loads(run("list", "quarantine", "--format", "json").stdout))
    assert "stock.csv" in run("list", "quarantine").stdout
    listed = run("list", "quarantine", "--format", "csv")
    assert listed.returncode == 0
    assert "correct the cells" in listed.stderr
    (tmp_path / "corrected.csv").write_text(listed.stdout.replace(",53,62,", ",73,62,"))
    assert run("ingest", "corrected.csv", "--as", "tractors").returncode == 0
    empty = run("list", "quarantine")
    assert (empty.returncode, empty.stdout) == (1, "No refused row waits to be corrected.\n")
    undone = run("undo", SECOND, "--format", "json")
    answer_schema("undo").validate(json.loads(undone.stdout))
    assert run("list", "quarantine").returncode == 0
    assert "2 tractor records" in run("undo", FIRST).stdout
    assert run("list", "quarantine").returncode == 1
    assert run("list", "tractors", "--among", "stock").returncode == 1


@pytest.mark.ci
def test_a_list_for_correction_is_of_one_kind_of_file(run, tmp_path):
    """Rows of files with different headings are not mixed; the ingests to choose from are named."""
    run("ingest", "stock.csv", *STOCK)
    (tmp_path / "other.csv").write_text("Stock #;Description;Engine net hp;Hitch\nS9;;73;2\n")
    run("ingest", "other.csv", *STOCK)
    mixed = run("list", "quarantine", "--format", "csv")
    assert (mixed.returncode, mixed.stdout) == (2, "")
    assert f"--batch: {FIRST} (stock.csv, 1), {SECOND} (other.csv, 1)" in mixed.stderr
    assert run("list", "quarantine", "--format", "csv", "--batch", SECOND).stdout.count("\n") == 2


@pytest.mark.ci
def test_export_reads_back(run, tmp_path, library_store):
    """An export written to a file and one to the pipe are the same bytes, and a fresh store exports them again."""
    run("ingest", "stock.csv", *STOCK)
    piped = run("export", "tractors")
    assert run("export", "tractors", "--out", "all.csv").returncode == 0
    assert (tmp_path / "all.csv").read_text() == piped.stdout
    fresh = shutil.copy(library_store, tmp_path / "fresh.duckdb")
    assert run("ingest", "all.csv", "--as", "tractors", store=fresh).returncode == 0
    assert run("export", "tractors", store=fresh).stdout == piped.stdout
    assert run("export", "tractors", "--kind", "stock").stdout.count("\n") == 3
    none = run("export", "implements", "--owner", "nobody")
    assert (none.returncode, none.stdout.count("\n")) == (1, 1)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("ingest", "stock.csv", "--as", "horses"), "'horses' cannot be loaded; it takes tractors, implements"),
        (("ingest", "stock.csv", "--as", "tractors", "--kind", "old"), "--kind takes class, stock, member, not old"),
        (("ingest", "stock.csv", "--as", "implements", "--kind", "stock"), "--kind: implements have none"),
        (("ingest", "none.csv", *STOCK), "there is no file none.csv"),
        (("ingest", ".", *STOCK), "is no regular file"),
        (("ingest", "stock.csv", *STOCK, "--sheet", "One"), "stock.csv is no workbook"),
        (("ingest", "stock.csv", *STOCK, "--mapping", "none.toml"), "none.toml cannot be read"),
        (("ingest", "stock.csv", "stock.csv", *STOCK, "--write-mapping", "m.toml"), "one file at a time"),
        (("ingest", "-", "-", *STOCK), "standard input can be read once"),
        (("ingest", "stock.csv", *STOCK, "--write-mapping", "own.duckdb"), "belongs to the store"),
        (("undo", "B0999"), "there is no ingest 'B0999'"),
        (("undo", "B0001"), "would leave no source"),
        (("export", "implements", "--kind", "stock"), "implements have no kind"),
        (("export", "tractors", "--out", "own.duckdb"), "belongs to the store"),
    ],
)
def test_wrong_use_is_one_line_and_status_2(run, tmp_path, arguments, says):
    """What cannot be done is said in one line with what to do, and the store is as it was."""
    before = (tmp_path / "own.duckdb").read_bytes()
    ran = run(*arguments)
    assert ran.returncode == 2
    assert says in ran.stderr
    assert "Traceback" not in ran.stderr
    if "--write-mapping" not in arguments:
        assert (tmp_path / "own.duckdb").read_bytes() == before


@pytest.mark.ci
def test_one_unreadable_file_does_not_stop_the_others(run):
    """Of several files the readable ones are loaded, and the status says that one was not."""
    ran = run("ingest", "none.csv", "stock.csv", *STOCK)
    assert ran.returncode == 2
    assert "there is no file none.csv" in ran.stderr
    assert "loaded" in ran.stdout


def test_a_healthy_store_needs_no_recovery(run):
    """Recovering a store that opens moves nothing."""
    ran = run("recover")
    assert (ran.returncode, "opens as it is" in ran.stdout) == (0, True)


@pytest.mark.ci
def test_a_damaged_log_is_moved_aside(run, tmp_path):
    """The command that fails names the one that helps, which says what is lost and where the log is."""
    (tmp_path / "stock.csv").write_text(HEADER + GOOD)
    run("ingest", "stock.csv", *STOCK)
    program = (
        "import os, signal, sys, duckdb; con = duckdb.connect(sys.argv[1]);"
        "[con.execute(\"INSERT INTO unplaced VALUES ('B9', 'tractor', 1, '{}')\") for _ in range(50)];"
        "os.kill(os.getpid(), signal.SIGKILL)"
    )
    subprocess.run([sys.executable, "-c", program, str(tmp_path / "own.duckdb")], check=False)
    log = tmp_path / "own.duckdb.wal"
    held = bytearray(log.read_bytes())
    held[len(held) // 2] ^= 0xFF
    log.write_bytes(held)
    failed = run("list", "tractors")
    assert failed.returncode == 3
    assert "evener recover" in failed.stderr
    ran = run("recover")
    assert ran.returncode == 1
    assert "own.duckdb.wal.aside-1" in ran.stdout
    assert f"{FIRST} (stock.csv" in " ".join(ran.stdout.split())
    assert run("list", "tractors", "--among", "stock").returncode == 0


@pytest.mark.ci
def test_a_closed_pipe_and_a_full_device_end_quietly(run, own, tmp_path):
    """A reader that goes away and a device without room end an export without a traceback."""
    command = [sys.executable, "-m", "evener.cli.main", "export", "tractors", "--store", str(own)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as gone:
        gone.stdout.close()
        assert b"Traceback" not in gone.stderr.read()
    if FULL.exists():
        with FULL.open("w") as full:
            done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
        assert (done.returncode, done.stderr.count(b"\n")) == (2, 1)
        assert b"No space left" in done.stderr


def test_the_first_ingest_builds_the_library(tmp_path, run):
    """Where a new store is asked for, an ingest begins with the library's."""
    (tmp_path / "stock.csv").write_text(HEADER + GOOD)
    ran = run("ingest", "stock.csv", *STOCK, "--new-store", store=tmp_path / "new" / opening.FILE_NAME)
    assert ran.returncode == 0
    assert "built one with the library" in ran.stderr
