"""`evener audit` as the analyst runs it, on a store with a file of his own in which some records are wrong."""

import csv
import io
import json
import os
import re
import shutil

import numpy as np
import pytest

from evener.cli.analyst import audit as audit_command
from evener.cli.options import Format, UnitSystem
from evener.ingest.store import batches
from evener.results import auditing
from evener.schema.store import connection as store
from evener.scoring.audit.groups import NoSuchGroup
from evener.scoring.ratings.refresh import refresh

HEADER = "id,family,label,width,min PTO power (hp),weight (lb)\n"


@pytest.fixture(scope="session")
def analysed(library_store, tmp_path_factory):
    """A store with the library and sixty tedders of 2.2 hp a foot: one in metres under feet, one far too strong."""
    folder = tmp_path_factory.mktemp("audit")
    path = folder / "own.duckdb"
    shutil.copy(library_store, path)
    rng = np.random.default_rng(3)
    lines = []
    for i in range(60):
        width = rng.uniform(8, 28)
        power, mass = (level * width * np.exp(rng.normal(0, 0.06)) for level in (2.2, 70.0))
        if i == 20:
            width *= 0.3048
        if i == 40:
            power *= 2.5
        lines.append(f"T{i:02d},tedder,@Tedder {i},{width:.1f} ft,{power:.1f},{mass:.0f}\n")
    file = folder / "tedders.csv"
    file.write_text(HEADER + "".join(lines))
    assert batches.ingest_file(path, file, record="implements", after=refresh).loaded == 60
    return path


@pytest.fixture(scope="session")
def first_screen(evener, analysed):
    """What the audit of the whole store prints."""
    return evener("audit", store=analysed, env={**os.environ, "COLUMNS": "120"})


@pytest.fixture(scope="session")
def report(analysed):
    """What the public call returns for the whole store."""
    return auditing.audited(analysed).report


@pytest.fixture
def audited(analysed, capsys):
    """Run the audit in this process, and return its status and what it prints."""

    def run(*families, output=Format.table, **options):
        options = {"where": None, "plots": None, "records": False, "top": 40, "units": None, **options}
        status = audit_command.run(families, output=output, store=options.pop("store", analysed), **options)
        return status, capsys.readouterr().out

    return run


def test_the_answer_comes_first(first_screen):
    """The first lines say how many flags there are and which records are worst; lines, flags and reasons follow."""
    assert first_screen.returncode == 1
    lines = first_screen.stdout.splitlines()
    assert lines[0] == "323 rated records in 25 families under audit"
    assert re.fullmatch(r"\d+ flags on \d+ records\.", lines[2])
    worst = "\n".join(lines[3:9])
    assert "T20            Tedder: working width" in worst
    assert "was probably meant as" in worst
    assert "T40            Tedder: rated" in worst
    order = [first_screen.stdout.index(word) for word in ("Lines of rated", "Without a line: 2", "Flags: tedder")]
    assert order == sorted(order)


@pytest.mark.ci
def test_a_family_s_line_is_shown_with_the_choice_of_its_form(audited, report):
    """A family stands in one row: size, records, flags, line, scatter, form, how far off each form is."""
    _, text = audited("tedder", output=Format.markdown, top=1)
    (row,) = [line for line in text.splitlines() if line.startswith("| tedder ")]
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    assert cells[:3] == ["tedder", "working width", "73"]
    (tedder,) = [one for one in report.families if one.family == "tedder"]
    assert int(cells[3]) >= len({flag.implement_id for flag in tedder.flags} & {"T20", "T40"}) == 2
    assert cells[4].count(" ft: ") == 2
    assert cells[6] == "proportional"
    assert all(cell.endswith(" %") for cell in cells[7:10])


@pytest.mark.ci
def test_families_without_a_line_are_folded_into_one_sentence(first_screen, audited):
    """Those without a line are named once, by what they lack; those without any rating only when asked for."""
    text = " ".join(first_screen.stdout.split())
    assert text.count("Without a line: ") == 1
    assert "no size to go by: log_splitter, backhoe_attachment" in text
    assert "side_delivery_rake" not in text
    _, whole = audited(every=True)
    assert "no record with a PTO rating of its own: side_delivery_rake" in " ".join(whole.split())


def test_each_flag_says_where_its_record_stands(first_screen):
    """A flag names the batch and row of its record, and the page which file the batch is."""
    (row,) = [line for line in first_screen.stdout.splitlines() if line.startswith("T20 ") and "0:" not in line[:3]][
        -1:
    ]
    assert row.split()[1].endswith(":22")
    assert "is tedders.csv" in " ".join(first_screen.stdout.split())


@pytest.mark.ci
def test_json_is_the_python_call_and_fits_the_schema(report, audited, answer_schema):
    """--format json prints what the public call returns, in SI, valid against the schema that ships."""
    status, out = audited(output=Format.json, records=True)
    printed = json.loads(out)
    assert status == 1
    answer_schema("audit").validate(printed)
    assert printed == json.loads(json.dumps(report.as_dict(records=True)))
    (tedder,) = [one for one in printed["families"] if one["family"] == "tedder"]
    assert {"family", "n", "model", "slope_kw_per_m", "intercept_kw", "spread_kw", "flags"} <= set(tedder)
    assert tedder["slope_kw_per_m"] == pytest.approx(2.2 * 0.7457 / 0.3048, rel=0.05)
    assert len(tedder["records"]) == tedder["n"] == 73
    us = json.loads(audited("tedder", output=Format.json, units=UnitSystem.us)[1])
    assert us["families"][0]["slope"] == tedder["slope"]
    assert " ft was probably meant as" in str(us["families"][0]["flags"])


@pytest.mark.ci
def test_csv_has_a_row_for_every_flag(report, audited):
    """CSV lists all flags with kind, strength, evidence and the place of the record; formulas are neutralised."""
    rows = list(csv.DictReader(io.StringIO(audited(output=Format.csv)[1])))
    assert len(rows) == len(report.flags)
    own = {(row["kind"], row["file_row"]) for row in rows if row["implement_id"] == "T20"}
    assert ("unit_slip", "22") in own
    assert {row["label"] for row in rows if row["implement_id"] == "T20"} == {"'@Tedder 20"}
    measured = list(csv.DictReader(io.StringIO(audited("tedder", output=Format.csv, records=True)[1])))
    assert len(measured) == 73
    assert measured[0]["variable"] == "working_width_m"
    assert {"t", "leverage", "line_shift", "low_kw", "high_kw"} <= set(measured[0])


@pytest.mark.ci
def test_groups_and_a_condition_go_together(audited, library_store, tmp_path):
    """--by a field, or a column that no field took, together with --where; what is neither is refused."""
    path = tmp_path / "painted.duckdb"
    shutil.copy(library_store, path)
    rng = np.random.default_rng(5)
    rows = ["id,family,label,width (ft),min PTO power (hp),colour of paint"]
    for i in range(99):
        colour = ("green", "red", "blue", "grey", "white", "rust", "black", "tan", "plum")[i % 9]
        power = 2.2 * (8 + i % 20) * np.exp(rng.normal(0, 0.05)) * (0.75 if colour == "green" else 1)
        rows.append(f"P{i:02d},tedder,Tedder {i},{8 + i % 20},{power:.1f},{colour}")
    file = tmp_path / "painted.csv"
    file.write_text("\n".join(rows))
    assert batches.ingest_file(path, file, record="implements").loaded == 99
    by = "colour of paint, duty, owner"
    _, out = audited("tedder", by=by, where="implement_id LIKE 'P__'", output=Format.json, store=path)
    (found,) = json.loads(out)["groups"]
    assert (found["by"], found["group"]) == ("colour of paint", "green")
    assert found["factor"] == pytest.approx(0.75, abs=0.03)
    with pytest.raises(NoSuchGroup, match="cannot be grouped by 'colour'"):
        audited("tedder", by="colour", store=path)


@pytest.mark.ci
def test_a_condition_chooses_whom_a_record_is_measured_against(audited):
    """With --where only the chosen records take part: without the two wrong ones nothing stands out; status 0."""
    status, out = audited("tedder", where="implement_id LIKE 'T__' AND implement_id NOT IN ('T20', 'T40')")
    assert status == 0
    assert out.splitlines()[2] == "Nothing stands out."
    assert "58" in out


@pytest.mark.ci
@pytest.mark.parametrize(
    ("condition", "said"),
    [("mass_lb > 1e9", "no implement record meets"), ("mass_lb >", "--where: this is no SQL")],
)
def test_a_condition_that_cannot_hold_is_wrong_use(audited, condition, said):
    """A condition that nothing meets, or that is none, is refused in a sentence, with status 2."""
    with pytest.raises(store.StoreError, match=said) as refused:
        audited(where=condition)
    assert refused.value.exit_status == 2


@pytest.mark.parametrize("name", ["round_baler", "Round baler", "round-baler"])
def test_a_family_is_known_as_people_write_it(library_store, name):
    """Its name, its label and a hyphen between the words mean the same family."""
    assert [one.family for one in auditing.audited(library_store, [name]).report.families] == ["round_baler"]


def test_an_unknown_family_is_named_with_its_neighbours(evener):
    """A mistyped family is wrong use, with the near ones."""
    ran = evener("audit", "round_bailer")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "there is no family 'round_bailer'. Did you mean round_baler" in ran.stderr


def test_a_family_without_enough_records_says_so(audited):
    """A family with no rating of its own gets no line and no flag, and status 0."""
    status, out = audited("moldboard_plow")
    assert status == 0
    told = "Without a line: 1 family (no record with a PTO rating of its own: moldboard_plow)."
    assert told in " ".join(out.split())


@pytest.mark.ci
def test_plots_are_drawn_where_asked(audited, tmp_path):
    """--plots draws one file per family with a line, naming the flagged records; a file in its place is wrong use."""
    assert audited("tedder", "moldboard_plow", plots=tmp_path / "drawn")[0] == 1
    assert [path.name for path in (tmp_path / "drawn").iterdir()] == ["tedder.svg"]
    assert ">T40<" in (tmp_path / "drawn" / "tedder.svg").read_text(encoding="utf-8")
    (tmp_path / "file").write_text("mine")
    with pytest.raises(store.StoreError, match="cannot be written into") as refused:
        audited("tedder", plots=tmp_path / "file")
    assert refused.value.exit_status == 2
    assert (tmp_path / "file").read_text() == "mine"


def test_markdown_and_the_lines_beside(audited):
    """Markdown has tables; with a family named, the ordinary line with intervals and the robust one follow."""
    _, text = audited("tedder", output=Format.markdown, top=1, records=True)
    assert text.startswith("# 73 rated records in 1 family under audit")
    assert "| tedder | working width | 73 | " in text
    assert "- ordinary: " in text
    assert "R squared" in text
    assert "- set aside: 2 of 73 records" in text
    assert "weaker flags left out here" in text
    assert text.count("\n| T") >= 60


def test_an_audit_changes_nothing(analysed, audited):
    """The store's bytes are the same after an audit."""
    before = analysed.read_bytes()
    audited("tedder")
    assert analysed.read_bytes() == before
