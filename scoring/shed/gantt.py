"""A picture of a season: a row for each tractor, a bar for each day it works, late days hatched.

Members are told apart by colour (M. Okabe and K. Ito, Color Universal Design (2008)) and by the letter in the bar.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

COLOURS = ("#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7", "#999999")
INK = "#222222"
ROW_IN, WIDTH_IN, MARGIN_IN = 0.34, 11.0, 1.6
MOST_LETTERS = 120
LONGEST = 60


@dataclass(frozen=True)
class Bar:
    """One day of a tractor: its row, the number of the day, the share of the day, for whom, and whether it is late."""

    row: str
    day: int
    share: float
    member: str
    late: bool


def gantt(bars: Sequence[Bar], rows: Sequence[str], ticks: Sequence[tuple[int, str]], title: str) -> str:
    """Return the picture as SVG; the same bars give the same bytes.

    Parameters
    ----------
    bars : days of work
    rows : tractors, from the top
    ticks : numbers of days to name, with their names
    title : over the picture
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

    members = list(dict.fromkeys(bar.member for bar in bars))
    colour = {member: COLOURS[place % len(COLOURS)] for place, member in enumerate(members)}
    with mpl.rc_context(
        {"svg.hashsalt": "evener", "svg.fonttype": "none", "hatch.linewidth": 0.6, "text.parse_math": False}
    ):
        figure = Figure(figsize=(WIDTH_IN, MARGIN_IN + ROW_IN * max(1, len(rows))), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.add_subplot()
        height = {row: place for place, row in enumerate(rows)}
        beside: dict[tuple[str, int], float] = {}
        for bar in bars:
            start = beside.get((bar.row, bar.day), 0.0)
            beside[bar.row, bar.day] = start + bar.share
            axes.broken_barh(
                [(bar.day + start, bar.share)],
                (height[bar.row] - 0.4, 0.8),
                facecolors=colour[bar.member],
                edgecolors=INK,
                linewidth=0.4,
                hatch="////" if bar.late else None,
            )
            if len(bars) <= MOST_LETTERS and bar.share > 0.5:
                axes.text(
                    bar.day + start + bar.share / 2,
                    height[bar.row],
                    bar.member[:1],
                    ha="center",
                    va="center",
                    fontsize=6,
                )
        axes.set_yticks(range(len(rows)), [_short(row) for row in rows], fontsize=8)
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.set_xticks([day for day, _ in ticks], [name for _, name in ticks], fontsize=8)
        axes.set_title(_short(title), fontsize=10, loc="left")
        axes.grid(axis="x", linewidth=0.3, color="#BBBBBB")
        axes.set_axisbelow(True)
        marks = [Patch(facecolor=colour[member], edgecolor=INK, label=_short(member)) for member in members]
        marks.append(Patch(facecolor="white", edgecolor=INK, hatch="////", label="late"))
        axes.legend(
            handles=marks, fontsize=7, ncols=min(8, len(marks)), loc="upper center", bbox_to_anchor=(0.5, -0.08)
        )
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None})
    return drawn.getvalue()


def _short(text: str) -> str:
    return text[:LONGEST]
