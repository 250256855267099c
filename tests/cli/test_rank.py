"""`evener rank`, `explain` and `check` as a user runs them."""

import csv
import io
import json
import os
import subprocess
import sys

import pytest

import evener as evener_library
from evener.cli.output.words import money
from evener.cli.page.money_chart import years
from evener.schema.store import connection as store


@pytest.mark.ci
def test_the_first_screen_answers_first(evener, sheet):
    """Twenty-four lines of eighty columns: the size, what decides, money of three sizes, then the cautions."""
    ran = evener("rank", sheet)
    assert ran.returncode == 0, ran.stderr
    lines = ran.stdout.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("Quince Hollow")
    assert lines[1].startswith("Buy about ") or lines[2].startswith("If you buy: about ")
    said = [line[2:14].strip() for line in lines]
    order = [said.index(name) for name in ("decided by", "sizes", "hire all")]
    assert order == sorted(order)
    assert sum(line.startswith("->") for line in lines) == 1
    assert lines[-1].endswith("first.")
    cautions = " ".join(lines)
    assert "rollover protection" in cautions
    assert "PTO guard" in cautions


def test_the_first_screen_contradicts_itself_nowhere(evener, sheet):
    """The size that is said, the row that is marked and the pick of the JSON are one tractor, and it costs least."""
    answer = json.loads(evener("rank", sheet, "--format", "json", "--units", "us").stdout)
    choice = answer["choice"]
    assert answer["pick"] == answer["tractors"][0]["tractor_id"] == choice["pick"]["tractor_id"]
    assert choice["pick"]["fit"] == 100
    rows = [one for one in (choice["down"], choice["pick"], choice["up"]) if one]
    assert min(one["a_year"] for one in rows) == choice["pick"]["a_year"]
    assert [one["pto_power"] for one in rows] == sorted(one["pto_power"] for one in rows)
    marked = next(line for line in evener("rank", sheet).stdout.splitlines() if line.startswith("->"))
    assert f"{choice['pick']['pto_power']:.0f} hp" in marked
    for one in rows:
        parts = ("ownership", "repair", "running", "machines", "hired", "undone", "changed")
        assert sum(one[name] for name in parts) == pytest.approx(one["a_year"])
    drawn = [one.whole for one in years(choice)]
    assert drawn == pytest.approx([*(one["a_year"] for one in rows), choice["hire_all"]])


@pytest.mark.ci
def test_all_tables_come_on_request(evener, sheet):
    """--full adds the tables of tractors, margins, hours and what is open below the first screen, and no moments."""
    first, full = evener("rank", sheet).stdout, evener("rank", sheet, "--full").stdout
    assert full.startswith(first)
    order = [full.index(word) for word in ("generic sizes\n", "One size down, one size up", "Cautions")]
    assert order == sorted(order)
    assert "20 % of the" in full
    explained = evener("explain", sheet, "utility-62-4wd").stdout
    assert "lb ft" not in full + explained
    assert "20 % of the weight on the front wheels" in " ".join(explained.split())


@pytest.mark.ci
def test_the_other_rule_is_asked_for_in_the_sheet(evener, sheet):
    """rule = "sure" picks by sureness, and the screen names what the other rule picks where they differ."""
    sheet.write_text(
        sheet.read_text(encoding="utf-8") + '[policy]\nrule = "sure"\nconfidence = 0.95\n', encoding="utf-8"
    )
    answer = json.loads(evener("rank", sheet, "--format", "json").stdout)
    assert answer["policy"]["rule"] == "sure"
    assert answer["pick"] == answer["choice"]["pick"]["tractor_id"]
    if answer["other_rule"] != answer["pick"]:
        assert answer["other_rule"] in evener("rank", sheet).stdout


def test_json_is_what_the_python_call_returns(evener, sheet, library_store):
    """--format json prints exactly the dictionary of the public call, in SI unless US units are asked."""
    answer = evener_library.open(library_store).rank(sheet)
    for extra, units in ((), "si"), (("--units", "us"), "us"):
        printed = json.loads(evener("rank", sheet, "--format", "json", *extra).stdout)
        assert printed == json.loads(json.dumps(answer.to_dict(units)))


@pytest.mark.ci
@pytest.mark.parametrize("command", [("rank",), ("explain",), ("check",)])
def test_json_matches_the_shipped_schema(evener, sheet, command, answer_schema):
    """What a command writes as JSON is valid against the schema that ships with the project."""
    extra = ("utility-50-4wd",) if command == ("explain",) else ()
    printed = json.loads(evener(*command, sheet, *extra, "--format", "json").stdout)
    answer_schema(command[0]).validate(printed)


@pytest.mark.ci
def test_a_second_tractor_is_looked_for_on_request(evener, sheet, library_store, answer_schema):
    """--with-second prints two tractors, their money beside the one alone, and who takes what, as the call does."""
    sheet.write_text(sheet.read_text(encoding="utf-8") + SWEEP, encoding="utf-8")
    printed = json.loads(evener("rank", sheet, "--with-second", "--format", "json").stdout)
    answer_schema("rank").validate(printed)
    called = evener_library.open(library_store).rank(sheet, with_second=True).to_dict()
    assert printed == json.loads(json.dumps(called))
    pair, choice = printed["second"], printed["choice"]
    assert (pair["alone"], pair["alone_a_year"]) == (printed["pick"], choice["pick"]["a_year"])
    assert pair["saves"] == pytest.approx(pair["alone_a_year"] - pair["a_year"])
    shown = evener("rank", sheet, "--with-second").stdout.split("With a second tractor")[1]
    assert all(one["tractor_id"] in shown for one in pair["tractors"])
    assert all(one["task"] in shown for one in pair["tasks"])
    assert "second" not in json.loads(evener("rank", sheet, "--format", "json").stdout)


SWEEP = """
[[task]]
name = "Sweep the yard"
family = "landscape rake"
width = "5 ft"
hours = "300 h"
"""


@pytest.mark.ci
def test_the_verdict_agrees_with_the_printed_figures(evener, sheet):
    """Where the table prints a margin of at least 0 %, what the tractor has is not below what is asked, as printed."""
    rows = list(csv.DictReader(io.StringIO(evener("rank", sheet, "--format", "csv", "--top", "30").stdout)))
    assert len(rows) == 22 * 8
    for row in rows:
        if row["margin"]:
            assert (float(row["margin"]) >= 0) == (float(row["capacity"]) >= float(row["demand_high"]) * (1 - 1e-12))


@pytest.mark.ci
def test_us_and_si_sheets_agree(evener, sheet, tmp_path):
    """The same job written in metric gives the same ranking to nine digits."""
    metric = tmp_path / "metric.toml"
    text = sheet.read_text(encoding="utf-8")
    for us, si in (("46 ac", "18.61553951616 ha"), ("6 ft", "1.8288 m"), ("1 to 3 in", "25.4 to 76.2 mm")):
        text = text.replace(us, si)
    metric.write_text(text.replace("4x5 ft", "1.2192x1.524 m").replace("9 ac", "3.64217077 ha"), encoding="utf-8")
    first, second = (json.loads(evener("rank", path, "--format", "json").stdout) for path in (sheet, metric))
    for one, other in zip(first["tractors"], second["tractors"], strict=True):
        assert one["tractor_id"] == other["tractor_id"]
        assert one["fit"] == pytest.approx(other["fit"], rel=1e-9)
        margins = [[axis["margin"] for task in row["tasks"] for axis in task["axes"]] for row in (one, other)]
        assert margins[0] == pytest.approx(margins[1], rel=1e-9)


@pytest.mark.ci
def test_work_that_no_class_does_is_hired_and_there_is_a_plan(evener, sheet):
    """Work beyond every class leaves a pick for the rest; the screen says which work fails, and what hiring costs."""
    sheet.write_text(sheet.read_text(encoding="utf-8").replace('stack = "1 to 2"', 'stack = "6"'), encoding="utf-8")
    ran = evener("rank", sheet, "--format", "json")
    answer = json.loads(ran.stdout)
    assert ran.returncode == 1
    assert answer["pick"] is not None
    assert len(answer["not_done"]) == 1
    failing = [one for one in answer["choice"]["pick"]["fails"] if one["share"] == 1.0]
    assert failing
    assert failing[0]["hire_a_year"] > 0
    row = next(one for one in answer["choice"]["arrangement"] if one["task"] == failing[0]["task"])
    assert (row["by"], row["who"], row["a_year"]) == ("hired", None, pytest.approx(failing[0]["hire_a_year"]))
    stops = next(one for one in answer["choice"]["stopped"] if one["task"] == row["task"])
    assert stops["axis"] == "loader_height"
    screen = evener("rank", sheet).stdout
    assert f"NOT DONE    by any size: {row['task']}. Hired: {money(row['a_year'])} a year" in " ".join(
        screen.split("\n")
    )


HARD = """
[place]
name = "Far Side"
slope = "12 %"
[[place.land]]
use = "arable"
area = "900 ac"
[[task]]
name = "Rip"
family = "subsoiler"
width = "{width}"
depth = "20 in"
land = "arable"
[[task]]
name = "Sweep"
family = "landscape rake"
width = "5 ft"
hours = "300 h"
"""


@pytest.mark.ci
@pytest.mark.parametrize(
    ("text", "by", "headline"),
    [
        (HARD.format(width="50 ft"), {"Rip": "hired", "Sweep": "pick"}, ("Buy about", "If you buy: about")),
        (HARD.format(width="50 ft").split('[[task]]\nname = "Sweep')[0], {"Rip": "hired"}, "No size listed"),
    ],
)
def test_every_task_has_somebody_who_does_it(evener, sheet, text, by, headline):
    """Work beyond the largest class is hired, the rest is the pick's; where nothing is left, nothing is bought."""
    sheet.write_text(text, encoding="utf-8")
    answer = json.loads(evener("rank", sheet, "--format", "json").stdout)
    rows = {one["task"]: one for one in answer["choice"]["arrangement"] if one["kind"] != "not named"}
    assert {name: row["by"] for name, row in rows.items()} == by
    assert all(row["a_year"] > 0 and row["share"] > 0.5 for row in rows.values())
    screen = evener("rank", sheet).stdout.splitlines()
    assert any(line.startswith(headline) for line in screen[1:3])
    assert max(map(len, screen)) <= 80
    assert len(screen) <= 24
    assert not {"Rip"} & {one["task"] for one in answer["choice"]["machines"]}


def test_a_kind_that_does_not_exist_is_wrong_use(evener, sheet):
    """--among with an unknown kind names the kinds there are and ends with status 2."""
    ran = evener("rank", sheet, "--among", "class,rented")
    assert (ran.returncode, ran.stderr) == (2, "evener: --among takes class, stock, member, not rented\n")


def test_an_unknown_tractor_is_named_with_its_neighbours(evener, sheet):
    """explain with a mistyped id suggests the near ones and ends with status 2."""
    ran = evener("explain", sheet, "utility-50-5wd")
    assert ran.returncode == 2
    assert "utility-50-4wd" in ran.stderr


def test_explain_names_a_source_and_a_status_for_every_step(evener, sheet, library_store):
    """Every step explain prints has a source that the table of sources knows, or the job sheet, and a status."""
    answer = json.loads(evener("explain", sheet, "utility-62-4wd", "--format", "json").stdout)
    steps = [step for task in answer["tasks"] for step in task["steps"]]
    assert len(steps) > 20
    assert {step["status"] for step in steps} <= {"published", "memory", "practice", "customer"}
    with store.open_read(library_store) as con:
        known = {row["source_id"] for row in store.read_rows(con, "source")} | {"job sheet"}
    cited = {source for step in steps for source in step["source"].split("; ")}
    assert cited <= known
    assert {"PRACTICE", "UAZ"} <= cited


@pytest.mark.ci
def test_markdown_has_headings_and_tables(evener, sheet):
    """--format markdown writes the first screen as it stands, then headings and tables that Markdown readers show."""
    text = evener("rank", sheet, "--format", "markdown").stdout
    assert text.startswith("```\nQuince Hollow")
    assert "# Quince Hollow" in text
    assert "|---|" in text


def test_check_sees_uncovered_land(evener, sheet):
    """check totals the land and names what no task covers."""
    text = sheet.read_text(encoding="utf-8").replace(
        'implement = "mounted-sprayer-05"\nland = "orchard"', 'implement = "mounted-sprayer-05"'
    )
    sheet.write_text(text, encoding="utf-8")
    answer = json.loads(evener("check", sheet, "--format", "json", "--units", "us").stdout)
    uncovered = {use["use"]: round(use["unexplained"], 6) for use in answer["land"]["uses"]}
    assert uncovered == {"pasture": 0.0, "orchard": 9.0}


@pytest.mark.ci
def test_a_closed_pipe_ends_quietly(sheet, library_store):
    """`evener rank ... | head -1` prints one line and no traceback."""
    command = f"{sys.executable} -m evener.cli.main rank {sheet} --store {library_store} | head -1"
    ran = subprocess.run(command, shell=True, capture_output=True, text=True, check=False)  # noqa: S602
    assert ran.stdout.startswith("Quince Hollow")
    assert "Traceback" not in ran.stderr


@pytest.mark.ci
def test_an_ascii_terminal_gets_no_traceback(process, sheet):
    """Under an ASCII locale the answer still comes; what cannot be shown is replaced."""
    sheet.write_text(sheet.read_text(encoding="utf-8").replace("Quince", "Quincé"), encoding="utf-8")
    ran = process("rank", sheet, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (ran.returncode, ran.stdout.startswith("Quinc? Hollow")) == (0, True)


def test_a_bad_sheet_is_refused_with_every_mistake(evener, tmp_path):
    """Rank refuses a sheet with mistakes, names each with its line and what to do, and ends with status 2."""
    path = tmp_path / "bad.toml"
    path.write_text(
        '[place]\nname = "x"\nslope = "8"\n\n[[task]]\nname = "mow"\nfamily = "rotary cuter"\n', encoding="utf-8"
    )
    ran = evener("rank", path)
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert 'line 3: place.slope = "8" has no unit. Write a slope as' in ran.stderr
    assert "Did you mean rotary_cutter" in ran.stderr
