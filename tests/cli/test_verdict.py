"""What `evener rank` says first where buying is not the whole answer: hire it, or look for another kind of tractor."""

from __future__ import annotations

import json

import pytest

PLACE = """
[place]
name = "Gooseberry Corner"
slope = "{slope}"
soil = "firm"
{more}
[[place.land]]
use = "{use}"
area = "{area}"
"""
TILL = """
[[task]]
name = "Till"
family = "tiller"
width = "4 ft"
land = "orchard"
times = 2
{hire}
"""
BLADE = """
[[task]]
name = "Level the drive"
family = "box blade"
width = "5 ft"
hours = 4
have = true
{hire}
"""
SCRAPE = """
[[task]]
name = "Scrape the yard"
family = "rear blade"
width = "7 ft"
hours = 250
"""
FEED = """
[[task]]
name = "Feed"
family = "feed mixer"
tank = "26 m3"
hours = 300
{hire}
"""
ROWS = """
[[task]]
name = "Mow"
family = "flail mower"
width = "1.4 m"
stems = "1 to 2 cm"
land = "vineyard"
times = 4
[[task]]
name = "Cart"
family = "tipping trailer"
load = "2 t"
hours = 40
[[task]]
name = "Spray"
family = "orchard sprayer"
tank = "600 L"
attachment = "trailed"
land = "vineyard"
times = 10
"""
CHOP = """
[[task]]
name = "Chop"
family = "forage harvester"
width = "6 ft"
land = "orchard"
"""
SMALL = PLACE.format(slope="level", more="", use="orchard", area="1/4 ac")
HILLY = PLACE.format(slope="8 %", more="", use="orchard", area="1/4 ac")
STEEP = PLACE.format(slope="20 %", more='gate = "1.6 m"', use="vineyard", area="6 ha")


@pytest.fixture
def said(evener, tmp_path, answer_schema):
    """Rank a sheet; return its first screen, its contract and its page."""

    def rank(text):
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        answer = json.loads(evener("rank", path, "--format", "json").stdout)
        answer_schema("rank").validate(answer)
        screen = evener("rank", path).stdout.splitlines()
        assert max(map(len, screen)) <= 80
        return screen, answer, evener("page", path, "--format", "markdown").stdout

    return rank


def test_hiring_that_costs_far_less_is_said_first(said):
    """A quarter of an acre: the heading says what hiring and buying cost, the JSON and the page say the same."""
    screen, answer, page = said(SMALL + TILL.format(hire="") + BLADE.format(hire=""))
    hire, buy = answer["choice"]["hire_all"], answer["choice"]["pick"]["a_year"]
    assert answer["verdict"]["kind"] == "hire rather"
    assert hire < 0.5 * buy
    assert screen[1].startswith("Hiring all costs ")
    assert screen[2].startswith("If you buy: about ")
    assert screen[1] in page
    assert len(screen) <= 24


@pytest.mark.ci
def test_where_all_may_be_hired_nothing_is_bought(said):
    """All of it for hire, and hiring cheapest: no tractor is marked, and the smallest that would do it is named."""
    screen, answer, page = said(SMALL + TILL.format(hire="hire = true") + BLADE.format(hire="hire = true"))
    assert answer["verdict"]["kind"] == "hire all"
    assert answer["verdict"]["owned"]["does_all"] > 0.9
    assert [line.split()[0] for line in screen if line.startswith("->")] == ["->none"]
    assert screen[1].startswith("Hire it all: ")
    assert screen[2].startswith("To do it yourself: about ")
    assert "No size" not in page


@pytest.mark.ci
@pytest.mark.parametrize(("hire", "by"), [("", "nobody"), ("hire = true", "hired")])
def test_nobody_is_hired_for_a_daily_chore(said, hire, by):
    """Feeding that the pick does not do is not done, and neither it nor its mixer lies in what is paid."""
    screen, answer, page = said(HILLY + SCRAPE + FEED.format(hire=hire))
    choice, text = answer["choice"], "\n".join(screen)
    row = next(one for one in choice["arrangement"] if one["task"] == "Feed")
    assert row["by"] == by
    assert choice["not_for_hire"] == ([] if by == "hired" else ["Feed"])
    assert ("NOT DONE    Feed: not for hire" in text) == (by == "nobody")
    assert ("Not done: Feed" in page) == (by == "nobody")
    assert "Feed" not in {one["task"] for one in choice["machines"]}
    if by == "nobody":
        assert row["a_year"] is None
        assert row["from_size"]["pto_power"] > choice["pick"]["pto_power"]
        assert choice["pick"]["hired"] == 0


@pytest.mark.ci
def test_where_nothing_is_narrow_enough_that_is_the_answer(said):
    """A gate that shuts out all that does most of the work: the heading asks for a narrow tractor of what it takes."""
    screen, answer, page = said(STEEP + ROWS)
    verdict = answer["verdict"]
    assert verdict["kind"] == "does little"
    assert verdict["left_out_does"] > verdict["does"]
    assert verdict["left_out"]["pto_power"] > answer["choice"]["pick"]["pto_power"]
    assert screen[1].startswith("Nothing listed is narrow enough for ")
    assert screen[2].startswith("Look for a narrow (vineyard, orchard) tractor")
    assert "a narrow (vineyard, orchard) tractor" in page


@pytest.mark.ci
def test_a_machine_without_a_price_is_named(said, evener, tmp_path):
    """A machine to be bought that no price is known of is said to have none, on the first screen and in its costs."""
    screen, answer, _ = said(SMALL + CHOP)
    assert [one["price"] for one in answer["choice"]["machines"]] == [None]
    assert any("price not known: forage harvester" in line for line in screen)
    costs = evener("cost", tmp_path / "job.toml").stdout
    assert "The price of the machine for Chop is not known" in costs
