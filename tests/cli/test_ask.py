"""`evener ask` as a user runs it."""

import csv
import io
import json
import tomllib
from importlib import resources

import pytest

import evener as evener_library

RIDGE = resources.files("evener.demo_db").joinpath("jobs", "ridge.toml").read_text(encoding="utf-8")
SETTLED = """
[place]
name = "Thorn Flat"
slope = "3 %"
soil = "firm"

[[task]]
name = "Top"
implement = "rotary-cutter-09"

[[task]]
name = "Spray"
implement = "mounted-sprayer-05"
centre_of_mass = "24 in"
"""
SCRUB = """
[place]
name = "Thorn Flat"
slope = "3 %"
soil = "firm"

[[task]]
name = "Cut back the scrub"
family = "rotary_cutter"
width = "6 ft"
stems = "1 to 3 in"
centre_of_mass = "36 in"
have = false
hire = false
"""


@pytest.fixture
def scrub(tmp_path):
    """A sheet with one task and one thing to measure, on disk."""
    path = tmp_path / "scrub.toml"
    path.write_text(SCRUB, encoding="utf-8")
    return path


@pytest.fixture
def ridge(tmp_path):
    """The demo sheet on disk."""
    path = tmp_path / "ridge.toml"
    path.write_text(RIDGE, encoding="utf-8")
    return path


@pytest.mark.ci
def test_the_first_question_is_answered_both_ways_with_two_picks(evener, ridge):
    """The first question at the ridge says what it is worth, and two of its answers lead to two picks."""
    ran = evener("ask", ridge)
    assert ran.returncode == 0, ran.stderr
    first = json.loads(evener("ask", ridge, "--format", "json", "--units", "us").stdout)["questions"][0]
    assert f"1. {first['question']}" in ran.stdout
    assert "worth" in ran.stdout
    assert max(map(len, ran.stdout.splitlines())) <= 80
    assert len(ran.stdout.splitlines()) <= 24
    picks = {
        json.loads(evener("ask", ridge, "--format", "json", "--answer", f"{first['id']}={said}").stdout)["pick"]
        for said in ("yes", "no")
    }
    assert len(picks) == 2
    full = evener("ask", ridge, "--full").stdout
    assert full.index("You said, and") < full.index("Nobody said; taken") < full.index("Stays uncertain")


@pytest.mark.ci
def test_an_answer_leaves_the_sheet_as_it_is(evener, ridge):
    """--answer shows the pick before and after, and does not write."""
    ran = evener("ask", ridge, "--answer", "place.hay_baled=yes")
    lines = [line.split() for line in ran.stdout.splitlines()]
    before = next(line[1:] for line in lines if line[:1] == ["before:"])
    after = next(line[2:] for line in lines if line[:2] == ["so", "far:"])
    assert before != after
    assert ridge.read_text(encoding="utf-8") == RIDGE


@pytest.mark.ci
def test_nothing_left_to_ask_is_said(evener, tmp_path):
    """A sheet whose open answers change nothing gets the one sentence that says so, and what stays uncertain."""
    path = tmp_path / "settled.toml"
    path.write_text(SETTLED, encoding="utf-8")
    ran = evener("ask", path)
    assert ran.returncode == 0
    assert "Nothing you could ask would change this." in ran.stdout
    assert "likely to change the tractor" not in ran.stdout
    assert "stays uncertain: " in ran.stdout


def test_json_is_what_the_python_call_returns(evener, sheet, library_store, answer_schema):
    """--format json prints the dictionary of the public call, valid against the schema."""
    store = evener_library.open(library_store)
    for extra, options in ((), {"units": "si"}), (("--units", "us", "--seeds", "1"), {"units": "us", "seeds": 1}):
        printed = json.loads(evener("ask", sheet, "--format", "json", *extra).stdout)
        assert printed == json.loads(json.dumps(store.ask(sheet, **options).to_dict()))
        answer_schema("ask").validate(printed)


@pytest.mark.ci
def test_csv_has_a_row_for_each_answer(evener, sheet):
    """--format csv writes one row per question and answer, with shares that sum to one."""
    rows = list(csv.DictReader(io.StringIO(evener("ask", sheet, "--format", "csv").stdout)))
    shares = [float(row["share"]) for row in rows if row["id"] == "top-the-pasture.stems"]
    assert sum(shares) == pytest.approx(1.0)


@pytest.mark.ci
@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("top-the-pasture.stems", "is no ID=VALUE"),
        ("top-the-pastre.stems=1 in", "Did you mean top-the-pasture.stems?"),
        ("top-the-pasture.stems=1", "has no unit"),
        ("top-the-pasture.colour=red", "there is no key 'colour'"),
    ],
)
def test_an_answer_that_cannot_be_taken_is_wrong_use(evener, sheet, given, said):
    """An answer to nothing, or of no meaning, is refused with its remedy and status 2."""
    ran = evener("ask", sheet, "--answer", given)
    assert ran.returncode == 2
    assert said in ran.stderr


@pytest.mark.ci
def test_interactive_walks_until_no_answer_matters_and_writes_the_sheet(evener, scrub):
    """Questions come in order, a bad answer is asked again, and the answered sheet is written beside the old one."""
    ran = evener("ask", scrub, "--interactive", input="3\n1 in\n" + 20 * "skip\n")
    assert ran.returncode == 0, ran.stderr
    assert 'task.stems = "3" has no unit' in ran.stderr
    answered = tomllib.loads((scrub.parent / "scrub.answered.toml").read_text(encoding="utf-8"))
    assert answered["task"][0]["stems"] == "1 in"
    assert scrub.read_text(encoding="utf-8") == SCRUB
    again = evener("rank", scrub.parent / "scrub.answered.toml", "--format", "json")
    assert json.loads(again.stdout)["pick"] in ran.stdout


@pytest.mark.ci
def test_interactive_goes_back(evener, scrub, tmp_path):
    """Back takes the last answer back, and the same question comes again."""
    target = tmp_path / "told.toml"
    ran = evener("ask", scrub, "--interactive", "--write", target, input="1 in\nback\n3 in\nstop\n")
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr.count("measure the thickest stem") == 2
    assert tomllib.loads(target.read_text(encoding="utf-8"))["task"][0]["stems"] == "3 in"


@pytest.mark.ci
def test_interactive_writes_nothing_that_was_not_asked(evener, sheet):
    """Left at once, the walk writes no sheet; and it never writes over the store or a folder."""
    assert evener("ask", sheet, "--interactive", input="").returncode == 0
    assert [path.name for path in sheet.parent.iterdir()] == ["quince.toml"]
    ran = evener("ask", sheet, "--interactive", "--write", sheet.parent, input="stop\n")
    assert ran.returncode == 2
    assert "is no regular file" in ran.stderr


def test_check_asks_whether_the_place_adds_up(evener, ridge, answer_schema):
    """check lists the plans, what the place probably needs and what owned machines take, and finds no mistake in it."""
    ran = evener("check", ridge, "--format", "json")
    answer = json.loads(ran.stdout)
    answer_schema("check").validate(answer)
    assert ran.returncode == 0
    assert {"hay_cut", "hay_baled"} <= {one["rule"] for one in answer["reconcile"]}
    assert answer["plans"] == [{"task": "Blow snow off the drive", "chance": 0.4, "year": 2027}]
    assert [(one["task"], one["verdict"]) for one in answer["owned"]] == [("Set fence posts", "met")]


@pytest.mark.ci
def test_rank_has_a_line_for_what_is_not_counted(evener, ridge):
    """rank says in one line what the place probably needs, and in one the sizes without plans and with them."""
    lines = evener("rank", ridge).stdout.splitlines()
    assert any(line.split()[:2] == ["not", "named"] and "evener check" in line for line in lines)
    assert any(line.split()[:2] == ["sizes", "today's"] and "with all plans" in line for line in lines)


@pytest.mark.ci
def test_an_ascii_terminal_gets_no_traceback(process, scrub):
    """The walk through the questions survives a terminal that cannot show every letter."""
    import os

    scrub.write_text(SCRUB.replace("Cut back", "Cüt back"), encoding="utf-8")
    ran = process("ask", scrub, "--interactive", input="stop\n", env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert ran.returncode == 0
    assert "C?t back the scrub" in ran.stderr
