"""What one file may ask for: findings told in groups, refused rows bounded, and a name told from what is none."""

import subprocess
import sys

import pytest

from evener.ingest import ceilings
from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files import delimited, readers
from evener.ingest.finding import MOST_GROUPS
from evener.schema.store import connection as store

pytestmark = pytest.mark.ci

GOOD = "S{n},Fielder {n},4wd,shuttle,,45,4000,1,1500,2200"


def good(*numbers):
    return [GOOD.format(n=number) for number in numbers]


def test_a_name_that_stands_on_many_rows_is_one_short_finding(load, path):
    """Rows that share a key are one finding with the first lines and the count, and each waits once."""
    report = load(*[GOOD.format(n=7)] * 500)
    (finding,) = report.findings
    assert (finding.id, report.quarantined) == ("double-key", 500)
    assert "500 rows" in finding.message
    assert "492 more" in finding.message
    assert len(finding.message) < 200
    with store.open_read(path) as con:
        kept = store.read_rows(con, "quarantine")
    assert len(kept) == 500
    assert max(len(row["findings"]) for row in kept) < 800


def test_the_same_fault_on_many_rows_is_told_once(load):
    """A word no field holds is one finding with its lines and its count, however often it stands."""
    report = load(*[line.replace("4wd", "6wd") for line in good(*range(30))])
    (finding,) = report.findings
    assert (finding.count, finding.lines) == (30, tuple(range(2, 10)))
    assert finding.where == "2, 3, 4, 5, 6, 7, 8, 9 and 22 more"
    assert report.loaded == 30


def test_many_faults_of_one_kind_are_told_by_the_first_of_them(load):
    """Faults that all differ are told one by one up to a number, and the others counted."""
    report = load(*[line.replace("4wd", f"{number}wd") for number, line in enumerate(good(*range(100)), 50)])
    assert len(report.findings) == MOST_GROUPS + 1
    assert report.findings[-1].id == "more-alike"
    assert sum(finding.count for finding in report.findings) == 100


def test_more_refused_rows_than_are_kept_refuse_the_file(load, path, monkeypatch):
    """A file with one fault all through is refused with the ceiling and the fault named; nothing of it is kept."""
    monkeypatch.setattr(ceilings, "MOST_REFUSED", 20)
    before = path.read_bytes()
    report = load(
        *good(1, 2, 3),
        *[
            line.replace(f",Fielder {number}", ",")
            for number, line in zip(range(10, 40), good(*range(10, 40)), strict=True)
        ],
    )
    assert {finding.id for finding in report.findings} == {"too-many-refused", "missing-value"}
    assert "20 rows" in next(one.message for one in report.findings if one.id == "too-many-refused")
    assert (report.batch_id, report.loaded, report.quarantined) == (None, 0, 0)
    assert path.read_bytes() == before


@pytest.mark.parametrize("cell", ["yes", "in", "3"])
def test_a_column_that_does_not_tell_the_rows_apart_is_no_name(load, rows_of, cell):
    """Stock headed over yes or over a count names no machine; its text is kept, and another column names the rows."""
    header = "Stock,Unit no,Description,Drive,PTO hp"
    report = load(*[f"{cell},U{number},Fielder {number},4wd,45" for number in range(6)], header=header)
    assert [finding.id for finding in report.findings] == ["no-name"]
    assert report.loaded == 6
    assert {row["tractor_id"] for row in rows_of("tractor") if row["kind"] == "stock"} == {f"U{n}" for n in range(6)}
    assert any(cell in row["raw"] for row in rows_of("unplaced"))


def test_without_a_number_the_description_names_the_machine(load, rows_of):
    """A list that numbers nothing loads under its descriptions, and says so."""
    report = load("Fielder 40,4wd,40", "Fielder 50,4wd,50", header="Model,Drive,PTO hp")
    assert [finding.id for finding in report.findings] == ["named-by-label"]
    names = {row["tractor_id"]: row["label"] for row in rows_of("tractor") if row["kind"] == "stock"}
    assert names == {"Fielder 40": "Fielder 40", "Fielder 50": "Fielder 50"}


def test_a_mapping_says_that_a_column_is_no_name(load):
    """A numbered column that a person says is no name is left out, and the description names the rows."""
    mapping = FileMapping({"Stock #": Choice(None)})
    report = load("7,Fielder 40,4wd,40", "7,Fielder 50,4wd,50", header="Stock #,Model,Drive,PTO hp", mapping=mapping)
    assert report.loaded == 2


_MEASURED = """
import pathlib, resource, sys
from evener.ingest.store.batches import ingest_file
file = pathlib.Path(sys.argv[2])
resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv[3]), int(sys.argv[3])))
print(len(ingest_file(pathlib.Path(sys.argv[1]), file, kind="stock").findings))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="the system bounds no memory")
def test_rows_that_share_a_name_cost_memory_in_proportion(path, tmp_path):
    """Forty thousand rows of one name are refused within a ceiling on memory that their square would break."""
    file = tmp_path / "same.csv"
    file.write_text("Stock #,Description,PTO hp\n" + "7,Fielder,45\n" * 40_000)
    ran = subprocess.run(
        [sys.executable, "-c", _MEASURED, str(path), str(file), str(3 << 30)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert (ran.returncode, ran.stdout.strip()) == (0, "1"), ran.stderr[-500:]


@pytest.mark.parametrize("quoted", [False, True], ids=["plain", "quoted"])
@pytest.mark.parametrize(
    ("ceiling", "most", "lines", "said"),
    [
        ("MOST_CELLS", 3_000, ["S1,Barn,45"] * 2_000, "3,000 cells"),
        ("MOST_ODD", 300, ["S1,Barn"] * 2_000, "300 lines that are blank or have another number of cells"),
        ("MOST_ODD", 300, [""] * 2_000, "300 lines that are blank"),
        ("MOST_TEXT", 1 << 16, [f"S{number},Barn {number},45" for number in range(2_000)], "of different texts"),
    ],
)
def test_text_beyond_a_ceiling_is_refused(monkeypatch, ceiling, most, lines, said, quoted):
    """A file of more cells, misfits or different texts than fit in the memory is refused, with the ceiling."""
    monkeypatch.setattr(ceilings, ceiling, most)
    monkeypatch.setattr(delimited, "_SAMPLE", 200)
    first = '"S0",Barn,45' if quoted else "S0,Barn,45"
    with pytest.raises(readers.UnreadableFile, match=said):
        readers.read_bytes("\n".join(["No,Name,PTO hp", first, *lines]).encode(), "list.csv")
