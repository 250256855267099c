"""The chart of money by size: what a year costs with one size down, the choice, one up, and with no tractor at all."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from evener.cli.page.money import size, total
from evener.cli.page.tall_chart import NARROW, WIDE, Chart
from evener.scoring.core import chart_style
from evener.scoring.core.chart_style import BAND, BLUE, INK, PAPER

PARTS = (
    ("to own it and its machines", ("ownership", "machines"), BLUE, ""),
    ("fuel, repair, driver", ("running", "repair"), BAND, ""),
    ("hired, undone or changed later", ("hired", "undone", "changed"), PAPER, "////"),
)


@dataclass(frozen=True)
class Year:
    """What a year costs with one size, in the parts of the chart."""

    name: str
    parts: tuple[float, ...]

    @property
    def whole(self) -> float:
        """All parts together."""
        return sum(self.parts)


def years(choice: Mapping[str, Any]) -> list[Year]:
    """Return the sizes with their money, from small to large, hiring all of it last where all is for hire."""
    named = ((choice["down"], ""), (choice["pick"], ", the choice"), (choice["up"], ""))
    found = [
        Year(f"{size(one)}{said}", tuple(sum(one[key] for key in keys) for _, keys, _, _ in PARTS))
        for one, said in named
        if one is not None
    ]
    if choice["not_for_hire"]:
        return found
    return [*found, Year("none, all hired", (0.0, 0.0, choice["hire_all"]))]


def chart(choice: Mapping[str, Any]) -> Chart:
    """Draw what a year costs by size."""
    found = years(choice)
    least = min(found, key=lambda one: one.whole)
    most = max(found, key=lambda one: one.whole)
    said = (
        f"A year costs least with {least.name.removesuffix(', the choice')}, about {total(least.whole)} "
        f"{choice['currency']}; most with {most.name}, about {total(most.whole)}."
    )
    pictures = [
        chart_style.inline(_drawn(found, width), alt=html.escape(said, quote=True), ids=ids)
        for width, ids in ((WIDE, "money-wide"), (NARROW, "money-narrow"))
    ]
    return Chart(pictures[0], pictures[1], said)


def _drawn(found: Sequence[Year], width: float) -> str:
    from matplotlib.figure import Figure

    with chart_style.style(f"money {width}"):
        figure = Figure(figsize=(width, (0.4 if width == WIDE else 1.0) + 0.24 * len(found)))
        figure.set_layout_engine("constrained")
        figure.patch.set_visible(False)
        axes = figure.add_subplot()
        axes.patch.set_visible(False)
        start = [0.0] * len(found)
        for at, (name, _, colour, hatch) in enumerate(PARTS):
            lengths = [one.parts[at] for one in found]
            axes.barh(range(len(found)), lengths, left=start, height=0.55, color=colour, hatch=hatch, edgecolor=INK,
                      lw=0.6, label=name)  # fmt: skip
            start = [one + more for one, more in zip(start, lengths, strict=True)]
        for row, one in enumerate(found):
            axes.annotate(total(one.whole), (one.whole, row), (4, 0), textcoords="offset points", va="center")
        axes.set_yticks(range(len(found)), [one.name for one in found])
        axes.set(xlim=(0, 1.15 * max(one.whole for one in found)), ylim=(len(found) - 0.5, -0.5), xticks=[])
        axes.tick_params(length=0)
        for side in ("top", "right", "left", "bottom"):
            axes.spines[side].set_visible(False)
        axes.legend(loc="lower left", bbox_to_anchor=(0, 1.0), ncols=3 if width == WIDE else 1, frameon=False,
                    fontsize=8, handletextpad=0.4, columnspacing=1.2, borderaxespad=0)  # fmt: skip
        return chart_style.svg(figure)
