"""Who does what on a place: with the pick, and with two tractors instead of one."""

from __future__ import annotations

from typing import Any

from evener.cli.output import render, words

NONE = "No two tractors among those ranked share this work: one takes what there is."
NOT_RECKONED = "Two drivers at once, and days lost to an old tractor's repair, are not reckoned."


def arrangement(page: render.Page, answer: dict[str, Any]) -> None:
    """Print who does what with the pick, and what that costs in a year.

    Parameters
    ----------
    page : where it goes
    answer : what `rank` says, in the reader's units
    """
    if answer["choice"] is None:
        return
    page.heading("Who does what")
    page.table(
        ["task", "", "done by", "in", "hours", "a year"],
        [
            [
                one["task"],
                one["kind"],
                words.DONE_BY[one["by"]].format(who=one["who"]),
                "" if one["share"] is None else words.percent(one["share"]),
                f"{one['hours']:.0f}",
                "" if one["a_year"] is None else words.money(one["a_year"]),
            ]
            for one in answer["choice"]["arrangement"]
        ],
        right={3, 4, 5},
    )


def pair(answer: dict[str, Any], *, markdown: bool) -> None:
    """Print the pair, its money beside the single tractor's, and which of the two takes which task.

    Parameters
    ----------
    answer : what `rank` says, in the reader's units
    markdown : whether as Markdown
    """
    page, two = render.Page(markdown=markdown), answer.get("second")
    page.heading("With a second tractor")
    if two is None:
        page.lead(NONE)
        page.show()
        return
    page.lead(f"{_both(two)}: {words.money(two['a_year'])} a year, {_beside(two)}.")
    page.table(
        ["", "price", "bought", "ownership", "repair", "hours a year"],
        [
            [
                f"{words.quantity(one['pto_power'], one['unit'])} ({one['tractor_id']})",
                words.money(one["price"]),
                "new" if one["age"] == 0 else f"{one['age']:.0f} years old",
                words.money(one["ownership"]),
                words.money(one["repair"]),
                f"{one['hours']:.0f}",
            ]
            for one in two["tractors"]
        ],
        right={1, 3, 4, 5},
    )
    page.table(
        ["task", "taken by", "in", "a year"],
        [[one["task"], _by(one, two), words.percent(_share(one)), words.money(one["a_year"])] for one in two["tasks"]],
        right={2, 3},
    )
    page.lead(NOT_RECKONED)
    page.show()


def _both(pair: dict[str, Any]) -> str:
    return " and ".join(words.quantity(one["pto_power"], one["unit"]) for one in pair["tractors"])


def _beside(pair: dict[str, Any]) -> str:
    more = "less" if pair["saves"] > 0 else "more"
    return f"{words.money(abs(pair['saves']))} {more} than {pair['alone']} alone"


def _by(one: dict[str, Any], pair: dict[str, Any]) -> str:
    first, second = (words.quantity(each["pto_power"], each["unit"]) for each in pair["tractors"])
    said = {"first": first, "second": second, "there": "what is there", "hired": "hired, for less"}
    return said.get(one["by"], "neither: hired")


def _share(one: dict[str, Any]) -> float:
    return float(one["missed" if one["by"] == "nobody" else one["by"]])
