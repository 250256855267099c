"""The chart that shows which task is the tall one: what each takes of the tractor, beside one size down and one up."""

from __future__ import annotations

import html
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from evener.cli.output import render
from evener.cli.page import plain
from evener.scoring.core import chart_style
from evener.scoring.core.chart_style import BAND, BLUE, INK, PAPER

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

MOST = 8
WIDE, NARROW = 6.9, 3.5
LETTERS = {WIDE: 28, NARROW: 17}
FARTHEST = 1.75
# Triangles that point to the smaller and to the larger.
POINTS: tuple[tuple[Literal["below", "above"], Literal[4, 5]], ...] = (("below", 4), ("above", 5))


@dataclass(frozen=True)
class Bar:
    """One task on the axis where the tractor is tightest, each as a share of what the tractor has there.

    Attributes
    ----------
    task, axis : what asks, and of what
    low, middle, high : asked, over its spread
    below, above : what the sizes below and above have there, or None
    """

    task: str
    axis: str
    low: float
    middle: float
    high: float
    below: float | None
    above: float | None


@dataclass(frozen=True)
class Chart:
    """A chart in two widths with the sentence that says what it shows."""

    wide: str
    narrow: str
    says: str


def bars(first: Mapping[str, Any], beside: Mapping[str, Mapping[str, Any]]) -> list[Bar]:
    """Return a bar for each task that asks something measurable, the tallest first.

    Parameters
    ----------
    first : the tractor, as a ranking's contract has it
    beside : the sizes "below" and "above", likewise
    """
    found = []
    for task in first["tasks"]:
        known = [one for one in task["axes"] if one["margin"] is not None and one["capacity"]]
        if known:
            tight = min(known, key=lambda one: one["margin"])
            shares = (tight["demand"][name] / tight["capacity"] for name in ("low", "median", "high"))
            others = (_share(beside.get(name), task["task"], tight) for name in ("below", "above"))
            found.append(Bar(render.plain(task["task"]), tight["axis"], *shares, *others))
    return sorted(found, key=lambda one: -one.high)


def _share(other: Mapping[str, Any] | None, task: str, tight: Mapping[str, Any]) -> float | None:
    if other is None:
        return None
    axes = (one for row in other["tasks"] if row["task"] == task for one in row["axes"] if one["axis"] == tight["axis"])
    found = next(axes, None)
    return None if found is None or not found["capacity"] else found["capacity"] / tight["capacity"]


def says(found: Sequence[Bar]) -> str:
    """Return what the chart shows, in a sentence or two."""
    tall, *rest = found
    first = f"{tall.task} is the tall one: it takes {_percent(tall.low, tall.high)} of the {plain.axis(tall.axis)}"
    if not rest:
        return f"{first}."
    return (
        f"{first}; the next, {rest[0].task}, {_percent(rest[0].low, rest[0].high)} of the {plain.axis(rest[0].axis)}."
    )


def _percent(low: float, high: float) -> str:
    ends = round(low * 100), round(high * 100)
    return f"{ends[0]} %" if ends[0] == ends[1] else f"{ends[0]} to {ends[1]} %"


def chart(found: Sequence[Bar], *, names: Mapping[str, str]) -> Chart:
    """Draw the tallest tasks.

    Parameters
    ----------
    found : the bars, the tallest first
    names : what to call the tractor ("pick"), and the sizes "below" and "above" where there are any
    """
    shown = found[:MOST]
    said = says(found)
    pictures = [
        chart_style.inline(_drawn(shown, names, width), alt=html.escape(said, quote=True), ids=ids)
        for width, ids in ((WIDE, "wide"), (NARROW, "narrow"))
    ]
    return Chart(pictures[0], pictures[1], said)


def _drawn(found: Sequence[Bar], names: Mapping[str, str], width: float) -> str:
    from matplotlib.figure import Figure

    lines = [textwrap.wrap(one.task, LETTERS[width], max_lines=2, placeholder=" ...") or [" "] for one in found]
    with chart_style.style(f"tall {width}"):
        figure = Figure(figsize=(width, 0.7 + 0.245 * len(found) if width == WIDE else 1.3 + 0.4 * len(found)))
        figure.set_layout_engine("constrained")
        figure.patch.set_visible(False)
        axes = figure.add_subplot()
        axes.patch.set_visible(False)
        ends = [1.12, *(one.high * 1.04 for one in found), *(one.above * 1.04 for one in found if one.above)]
        farthest = min(FARTHEST, max(ends))
        for row, one in enumerate(found):
            _row(axes, row, one, farthest, named=width == WIDE)
        axes.axvline(1.0, color=INK, lw=1.4, zorder=3)
        axes.set_yticks(range(len(found)), ["\n".join(one) for one in lines])
        axes.set(xlim=(0, farthest), ylim=(len(found) - 0.4, -0.6))
        ticks = {0.0: "nothing", 0.5: "half", 1.0: names["pick"]} if width == WIDE else {1.0: names["pick"]}
        axes.set_xticks(list(ticks), list(ticks.values()))
        axes.tick_params(length=0)
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
        axes.spines["bottom"].set_color(INK)
        _legend(axes, names, columns=3 if width == WIDE else 1)
        return chart_style.svg(figure)


def _row(axes: Axes, row: int, one: Bar, farthest: float, *, named: bool) -> None:
    axes.barh(row, min(one.high, farthest), height=0.56, color=BAND, lw=0, zorder=1)
    axes.barh(row, min(one.high, farthest) - one.low, left=one.low, height=0.56, color=BLUE, lw=0, zorder=2)
    for name, marker in POINTS:
        share = one.below if name == "below" else one.above
        if share is not None and share <= farthest:
            axes.plot([share], [row], marker=marker, ms=7, color=INK, mec=PAPER, mew=0.7, ls="", zorder=4)
    if named:
        axes.annotate(
            plain.short_axis(one.axis), (0, row), (4, 0), textcoords="offset points", va="center", fontsize=7.5
        )


def _legend(axes: Axes, names: Mapping[str, str], *, columns: int) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    keys: list[Artist] = [Patch(facecolor=BLUE, label="what it takes, likely range")]
    for name, marker in POINTS:
        if name in names:
            keys.append(Line2D([], [], marker=marker, color=INK, ls="", ms=7, label=names[name]))
    axes.legend(handles=keys, loc="lower left", bbox_to_anchor=(0, 1.0), ncols=columns, frameon=False, fontsize=8,
                handletextpad=0.4, columnspacing=1.2, borderaxespad=0)  # fmt: skip
