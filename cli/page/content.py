"""What the page says, sentence by sentence, before anything decides how it looks."""

from __future__ import annotations

from dataclasses import dataclass

from evener.cli.output import words
from evener.cli.page import in_short, money_chart, second_side
from evener.cli.page.gathered import Gathered
from evener.cli.page.tall_chart import Chart, bars, chart

NAMES = {"below": "one size smaller", "above": "one size larger"}
EIGHT = 8
# Letters on a first side that still has room for both charts.
MUCH = 2_300


@dataclass(frozen=True)
class Page:
    """A page for a customer.

    Attributes
    ----------
    title, land : the place and its land
    day, adviser : when and by whom it was made
    short : the first side: what, with what, why, and the rest, each a heading with sentences
    chart : which task is the tall one, or None where nothing can be drawn
    money : what a year costs by size, or None where no money is reckoned
    tasks : header and rows of the tasks; more than eight stand in an appendix
    appendix : whether they do
    second : the second side: headings with sentences
    colophon : what the page was made from
    """

    title: str
    land: str
    day: str
    adviser: str | None
    short: tuple[in_short.Said, ...]
    chart: Chart | None
    money: Chart | None
    tasks: tuple[tuple[str, ...], ...]
    second: tuple[in_short.Said, ...]
    colophon: str

    @property
    def close(self) -> bool:
        """Whether the first side has so much to say that it is printed closer."""
        said = sum(len(one) for part in self.short for one in part.sentences) + 2 * len(self.title)
        return said > MUCH

    @property
    def appendix(self) -> bool:
        """Whether the tasks are too many for the second side."""
        return len(self.tasks) > EIGHT


def page(gathered: Gathered, *, day: str, adviser: str | None, version: str) -> Page:
    """Return what the page says.

    Parameters
    ----------
    gathered : the answers
    day : the day it is made, as it is to be printed
    adviser : whose advice it is, where that was said
    version : of the tool
    """
    answer = gathered.answer
    place = answer["place"]
    land = ", ".join(f"{words.quantity(one['area'], one['unit'])} {one['use']}" for one in place["land"] if one["area"])
    drawn = None
    if gathered.buys and gathered.first is not None and (found := bars(gathered.first, gathered.beside)):
        names = {"pick": "all it has", **{name: said for name, said in NAMES.items() if name in gathered.beside}}
        drawn = chart(found, names=names)
    return Page(
        title=place["name"] or "A place without a name",
        land=land,
        day=day,
        adviser=adviser,
        short=in_short.said(gathered),
        chart=drawn,
        money=money_chart.chart(gathered.choice) if gathered.choice and gathered.buys else None,
        tasks=second_side.tasks(gathered),
        second=second_side.said(gathered),
        colophon=f"Made with evener {version} on {day}; records {gathered.fingerprint}; "
        f"{answer['policy']['draws']:,} cases worked through.",
    )
