"""The commands of a coordinator, on the invented shed of the demo."""

import json
import re
from xml.etree import ElementTree as ET

import pytest

from evener.scenario import demo


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The demo, built once."""
    return demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def run(evener, folder):
    """Run a command on the demo's shed."""
    return lambda command, *more: evener(command, folder.path.parent / "shed", *more, store=folder.path)


def test_the_shed_is_checked(run):
    """All six members are told with what they have; what has no dates is to be looked at."""
    done = run("shed")
    assert done.returncode == 1
    assert "Merrow Stile" in done.stdout
    assert "has no [[window]]" in " ".join(done.stdout.split())


def test_a_broken_shed_is_refused(evener, folder, tmp_path):
    """A shed with a mistake names it and its line, and leaves with status 2."""
    (tmp_path / "shed.toml").write_text('[shed]\nname = "X"\nfrom = 2027-06-01\n', encoding="utf-8")
    for command in ("shed", "cover", "assign"):
        done = evener(command, tmp_path, store=folder.path)
        assert done.returncode == 2
        assert "shed.to is missing" in done.stdout + done.stderr


def test_cover_has_its_four_verdicts(run):
    """Does it, does it with, does not and not known all occur, the last with a figure to read."""
    told = json.loads(run("cover", "--format", "json").stdout)
    ways = [way for task in told["tasks"] for way in task["combinations"]]
    assert {way["verdict"] for way in ways} == {"does it", "does it with", "does not", "not known"}
    assert all(way["why"] for way in ways if way["verdict"] != "does it")
    assert any("read its" in way["why"] for way in ways if way["verdict"] == "not known")
    assert "redundant" not in run("cover").stdout


def test_cover_of_one_member(run):
    """Named members and tasks are told alone, each combination with its reason; a strange name is refused."""
    told = json.loads(run("cover", "Merrow Stile", "mow hay", "--format", "json").stdout)
    assert {task["member"] for task in told["tasks"]} == {"Merrow Stile", "Alder Reach"}
    assert run("cover", "Nobody").returncode == 2


def test_assign_twice_gives_the_same_bytes(run):
    """The same shed gives the same plan, calendar and table, byte for byte."""
    for form in ("json", "ics", "csv"):
        first, second = run("assign", "--format", form), run("assign", "--format", form)
        assert first.stdout == second.stdout
        assert first.stdout


def test_rules_stand_side_by_side_with_their_price(run):
    """The plan that favours nobody and two rules are told, each with bound and price; windows that clash are named."""
    told = json.loads(run("assign", "--format", "json").stdout)
    assert [one["rule"] for one in told["rules"]] == ["least", "own_first", "equal_share"]
    for one in told["rules"]:
        assert one["undone_more"] >= 0
        assert all(level["bound"] <= level["value"] + 1e-6 for level in one["levels"])
    clash = told["clash"]
    assert clash["smallest"]
    assert len(clash["windows"]) >= 2
    assert clash["short_h"] > 0
    assert {one["member"] for one in told["vetoes"]} == {"Merrow Stile"}


def test_the_calendar_of_a_member_is_his(run):
    """Every event of a member's calendar is of his work, his tractor or his machine, and its lines are short."""
    text = run("assign", "--format", "ics", "--member", "Merrow Stile").stdout
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    whole = re.sub("\r\n ", "", text)
    events = whole.split("BEGIN:VEVENT")[1:]
    assert events
    assert all("Merrow Stile" in event for event in events)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert len(set(re.findall("UID:(.*)\r", whole))) == len(events)
    assert run("assign", "--format", "ics", "--member", "Nobody").returncode == 2


def test_the_picture_is_drawn(run, tmp_path):
    """The picture is an SVG with a row for each tractor that works, the same every time."""
    files = [tmp_path / "one.svg", tmp_path / "two.svg"]
    for file in files:
        run("assign", "--gantt", file)
    assert files[0].read_bytes() == files[1].read_bytes()
    text = "".join(ET.parse(files[0]).getroot().itertext())  # noqa: S314 - our own file
    assert "M-WF1" in text


def test_what_to_own_together(run):
    """Candidates do what is missed, the best first, and both splits of each add up to the whole."""
    told = json.loads(run("own-jointly", "--hire", "60", "--format", "json").stdout)
    assert told["candidates"]
    worths = [one["undone_less_h"] + one["late_less_h"] for one in told["candidates"]]
    assert worths == sorted(worths, reverse=True)
    for one in told["candidates"]:
        assert 0 < one["chance"] <= 1
        for split in ("by_use", "by_need"):
            assert sum(share[split] for share in one["shares"]) == pytest.approx(1.0, abs=1e-3)


def test_a_letter_is_one_page_in_his_units(run):
    """A letter has what was used, what to read, three ways out and when whom to ask, on one page."""
    done = run("letter", "merrow stile")
    page = " ".join(done.stdout.split())
    assert "23 hp" in page
    assert "ask Wether Fell" in page or "ask Sorrel Hag" in page
    assert "hire it done" in page
    assert len(done.stdout.splitlines()) <= 90
    told = json.loads(run("letter", "Tansy Rigg", "--format", "json").stdout)
    assert all(1 <= len(one["cures"]) <= 3 for one in told["shortfalls"])
    assert run("letter", "Nobody").returncode == 2
