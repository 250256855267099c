"""The commands of a coordinator, on the invented shed of the demo."""

import json
import re
from xml.etree import ElementTree as ET

import pytest

from evener.cli.page.printed import Printed
from evener.cli.page.writing import printed_html
from evener.cli.shed import letter as letter_command
from evener.scenario import demo
from evener.sheds.dates import calendar
from evener.sheds.letters import letter
from evener.sheds.picture import picture
from evener.store import Store

pytestmark = pytest.mark.ci


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The demo, built once."""
    return demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def run(evener, folder):
    """Run a command on the demo's shed."""
    return lambda command, *more: evener(command, folder.path.parent / "shed", *more, store=folder.path)


@pytest.fixture(scope="module")
def opened(folder):
    """The demo's shed, opened once."""
    return Store(folder.path).open_shed(folder.path.parent / "shed")


@pytest.fixture(scope="module")
def season(opened):
    """Its season, planned once."""
    return opened.assign()


@pytest.fixture(scope="module")
def together(opened):
    """What to own together, found once."""
    return opened.own_jointly(hire=60.0)


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
    assert {task["member"] for task in told["tasks"]} == {"Merrow Stile", "Seldom Dry"}
    assert run("cover", "Nobody").returncode == 2


def test_assign_twice_gives_the_same_bytes(run, season):
    """The same shed gives the same plan, byte for byte, planned by the command and again by the library."""
    done = run("assign", "--format", "json")
    assert json.dumps(season.to_dict("si"), indent=2, ensure_ascii=False) + "\n" == done.stdout


def test_rules_stand_side_by_side_with_their_price(season):
    """The plan that favours nobody and two rules are told, each with bound and price; windows that clash are named."""
    assert [one.rule for one in season.rules] == ["least", "own_first", "equal_share"]
    for one in season.rules:
        assert one.undone_more >= 0
        assert all(level.bound <= level.value + 1e-6 for level in one.levels)
    assert season.clash.smallest
    assert len(season.clash.windows) >= 2
    assert season.clash.short_h > 0
    assert {one.member for one in season.vetoes} == {"Merrow Stile"}


def test_the_calendar_of_a_member_is_his(season):
    """Every event of a member's calendar is of his work, his tractor or his machine, and its lines are short."""
    text = calendar(season, "Merrow Stile")
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    whole = re.sub("\r\n ", "", text)
    events = whole.split("BEGIN:VEVENT")[1:]
    assert events
    assert all("Merrow Stile" in event for event in events)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert len(set(re.findall("UID:(.*)\r", whole))) == len(events)


def test_the_picture_is_drawn(season):
    """The picture is an SVG with a row for each tractor that works, the same every time."""
    drawn = picture(season, 9.0)
    assert drawn == picture(season, 9.0)
    text = "".join(ET.fromstring(drawn).itertext())  # noqa: S314 - our own picture
    assert all(one.tractor in text for one in season.tasks if one.days)


def test_answers_hold_their_contract(opened, season, together, answer_schema):
    """All five answers are what the shipped schema says, in both systems of units."""
    told = letter(opened.record, opened.found, season, "Merrow Stile")
    answers = {
        "shed": opened.check(),
        "cover": opened.cover(),
        "assign": season,
        "own-jointly": together,
        "letter": told,
    }
    for name, answer in answers.items():
        for units in ("si", "us"):
            answer_schema(name).validate(json.loads(json.dumps(answer.to_dict(units), allow_nan=False)))


def test_what_to_own_together(together):
    """Candidates do what is missed, the best first, and both splits of each add up to the whole."""
    found = together
    worths = [one.undone_less_h + one.late_less_h for one in found.candidates]
    assert worths
    assert worths == sorted(worths, reverse=True)
    for one in found.candidates:
        assert 0 < one.chance <= 1
        assert sum(share.by_use for share in one.shares) == pytest.approx(1.0, abs=1e-3)
        assert sum(share.by_need for share in one.shares) == pytest.approx(1.0, abs=1e-3)


def test_a_letter_is_one_page_in_his_units(run, opened, season):
    """A letter has what was used, what to read, three ways out and when whom to ask, on one page."""
    done = run("letter", "merrow stile")
    page = " ".join(done.stdout.split())
    assert "23 hp" in page
    assert "as planned" in page
    assert "hire it done" in page
    assert len(done.stdout.splitlines()) <= 90
    told = letter(opened.record, opened.found, season, "Tansy Rigg")
    assert all(1 <= len(one.remedies) <= 3 for one in told.shortfalls)
    assert told.to_dict("si")["figures"][0]["used"] == "50 kW"
    paper = Printed()
    letter_command.fill(paper, told.to_dict("us") | {"member": "<b>Tansy Rigg</b>"})
    page = printed_html(paper, "A letter to a member")
    assert "to &lt;b&gt;Tansy Rigg" in page
    assert all(f"<h2>{part.heading}</h2>" in page for part in paper.parts if part.heading and part.blocks)
    assert page.count("</table>") == sum(bool(block.rows) for part in paper.parts for block in part.blocks)
    assert run("letter", "Nobody").returncode == 2
