"""One plot per family under audit: size against rated power, the line with its intervals, and flagged records by id.

Every distinction is made twice, by shape or dash and by a colour that colour-blind eyes tell apart (M. Okabe and K.
Ito, Color Universal Design (2008)), so that the plots can be read in print.
"""

from __future__ import annotations

import math
import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.schema import printable
from evener.schema import units as unit_table
from evener.scoring.audit.auditing import AuditReport
from evener.scoring.audit.family import SIZE_UNITS, FamilyAudit
from evener.scoring.audit.flags import Flag
from evener.scoring.core.printing import Units, show

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

INK, BAND = "#222222", "#D9D9D9"
MOST_NAMED = 25
MOST_LINES = 5
MANY_POINTS = 2_000
NEAR_RIGHT = 0.92
# Behind names, so that lines do not cross them: outlined letters would no longer be text in an SVG.
PAPER: Mapping[str, Any] = {"boxstyle": "square,pad=0", "facecolor": "white", "alpha": 0.75, "linewidth": 0}
# Of the names beside points [pt]
LETTER_WIDTH, LETTER_HEIGHT, LEADER_FROM = 4.4, 8.0, 12.0


class Mark(NamedTuple):
    """How the records with some kinds of flag are drawn."""

    words: str
    marker: str
    colour: str


MARKS: Mapping[str, Mark] = {
    "unit_slip": Mark("likely in another unit", "D", "#D55E00"),
    "far_from_peers": Mark("far from its peers", "s", "#D55E00"),
    "other_family": Mark("likely of another family", "p", "#56B4E9"),
    "engine_given_as_pto": Mark("engine power as PTO", "P", "#CC79A7"),
    "two_ratings": Mark("same machine, two ratings", "X", "#CC79A7"),
    "below_shaft_power": Mark("below average shaft power", "v", "#0072B2"),
    "far_above_published": Mark("far above published band", "^", "#0072B2"),
    "power_per_width": Mark("outside published band", "h", "#009E73"),
    "influential": Mark("moves the line by itself", "*", "#E69F00"),
}


def plots(report: AuditReport, folder: Path, *, units: Units = "si", suffix: str = "svg") -> list[Path]:
    """Draw every family that has a line into a folder, and return the files.

    Parameters
    ----------
    report : the audit
    folder : where the files go; it is made when it is missing, and files of the same names are replaced
    units : units of the axes
    suffix : svg or png

    Raises
    ------
    OSError
        If the folder cannot be made or written.
    ImportError
        If matplotlib is not installed.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for family in report.families:
        if family.fitted is not None:
            path = folder / f"{re.sub(r'[^A-Za-z0-9_-]', '_', family.family)}.{suffix}"
            _save(family, path, units)
            written.append(path)
    return written


def _save(family: FamilyAudit, path: Path, units: Units) -> None:
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    # A fixed salt and no date: the same audit gives the same file.
    with rc_context({"svg.hashsalt": "audit", "svg.fonttype": "none", "text.parse_math": False, "font.size": 9}):
        figure = Figure(figsize=(6.4, 4.4), layout="constrained")
        draw(family, figure.add_subplot(), units)
        unfinished = path.with_name(f".{path.name}.{os.getpid()}.new")
        try:
            metadata = {"Date": None} if path.suffix == ".svg" else {}
            figure.savefig(unfinished, format=path.suffix[1:], dpi=150, metadata=metadata)
            unfinished.replace(path)
        finally:
            unfinished.unlink(missing_ok=True)


def draw(family: FamilyAudit, axes: Axes, units: Units = "si") -> None:
    """Draw one family that has a line onto axes.

    Parameters
    ----------
    family : its audit
    axes : matplotlib axes to draw on
    units : units of the axes
    """
    if family.fitted is None:
        raise ValueError(f"{family.family} has no line: {family.reason}")
    data, fitted = family.data, family.fitted
    name = data.variables[0]
    across, up = _scale(SIZE_UNITS[name.rsplit("_", 1)[1]], name, units), _scale("kW", "", units)
    at = np.linspace(data.sizes.first.min() * 0.9, data.sizes.first.max() * 1.05, 200)
    middle = data.sizes.middle().second
    second = None if middle is None else np.full_like(at, middle[0])
    line, low, high = family.interval(at, second)
    _, line_low, line_high = family.interval(at, second, of_one=False)
    shown = max(float(data.power_kw.max()), float(line.max())) * 1.25 * up.factor
    x = at * across.factor
    axes.set(xlim=(0, float(x[-1])), ylim=(0, shown))
    axes.fill_between(x, low * up.factor, high * up.factor, color=BAND, lw=0, label="95 of 100 machines")
    for end in (line_low, line_high):
        axes.plot(
            x, end * up.factor, color=INK, lw=0.6, ls=":", label="the line itself, 95 %" if end is line_low else None
        )
    axes.plot(x, line * up.factor, color=INK, lw=1.6, label=f"the line ({fitted.model.form})")
    if data.sizes.second is not None and second is not None:
        _other_lines(family, axes, at, across, up, units)
    _points(family, axes, across, up)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_formatter(lambda value, _: f"{value:,.10g}")
    axes.set_xlabel(f"{_words(name)} [{across.unit}]")
    axes.set_ylabel(f"rated PTO power [{up.unit}]")
    at_middle = ""
    if middle is not None:
        at_middle = f"; line at {_words(data.variables[1])} {_said(data.variables[1], float(middle[0]), units)}"
    axes.set_title(f"{printable.one_line(data.family.label)}: {family.n} records{at_middle}", loc="left", fontsize=10)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(loc="upper left", fontsize=7, frameon=False)


class _Scale(NamedTuple):
    unit: str
    factor: float


def _scale(unit: str, name: str, units: Units) -> _Scale:
    if units == "si" or unit == "m2":
        return _Scale(unit, 1.0)
    return _Scale(*unit_table.us(unit, field=name))


def _words(name: str) -> str:
    return name.rsplit("_", 1)[0].replace("_", " ")


def _said(name: str, value: float, units: Units) -> str:
    return show(value, SIZE_UNITS[name.rsplit("_", 1)[1]], units, name)


def _other_lines(family: FamilyAudit, axes: Axes, at: Array, across: _Scale, up: _Scale, units: Units) -> None:
    """Draw the line at the other common values of the second size, each with the value at its end."""
    second = family.data.sizes.second
    if second is None:
        return
    values, counts = np.unique(second[np.isfinite(second)], return_counts=True)
    common = np.sort(values[np.argsort(-counts, kind="stable")[:MOST_LINES]])
    for value in common.tolist():
        first = family.data.sizes.first[second == value]
        here = at[(at >= first.min()) & (at <= first.max())]
        if here.size < 2:
            continue
        line, _, _ = family.interval(here, np.full_like(here, value))
        axes.plot(here * across.factor, line * up.factor, color=INK, lw=0.7, alpha=0.7)
        if value == family.data.sizes.middle().second:
            continue  # the title names it
        said = _said(family.data.variables[1], value, units)
        end = here[-1] * across.factor
        inside = end < NEAR_RIGHT * axes.get_xlim()[1]
        axes.annotate(
            said,
            (end, line[-1] * up.factor),
            (3, -2) if inside else (0, 4),
            textcoords="offset points",
            ha="left" if inside else "right",
            fontsize=7,
            bbox=dict(PAPER),
        )


def _points(family: FamilyAudit, axes: Axes, across: _Scale, up: _Scale) -> None:
    strongest: dict[str, Flag] = {}
    for flag in family.flags:
        strongest.setdefault(flag.implement_id, flag)
    place = {one.implement_id: i for i, one in enumerate(family.data.records)}
    x, y = family.data.sizes.first * across.factor, family.data.power_kw * up.factor
    plain = np.array([one.implement_id not in strongest for one in family.data.records])
    many = plain.size > MANY_POINTS
    style: dict[str, Any] = {"s": 4, "alpha": 0.3, "rasterized": True} if many else {"s": 20}
    axes.scatter(x[plain], y[plain], facecolors="none", edgecolors=INK, linewidths=0.8, label="record", **style)
    for kind, mark in MARKS.items():
        which = [place[one] for one, flag in strongest.items() if flag.kind == kind and one in place]
        if which:
            axes.scatter(
                x[which],
                y[which],
                s=44,
                marker=mark.marker,
                color=mark.colour,
                edgecolors=INK,
                linewidths=0.6,
                label=mark.words,
                zorder=3,
            )
    named = [place[one] for one in strongest if one in place][:MOST_NAMED]
    marked = [place[one] for one in strongest if one in place]
    _name_points(axes, [family.data.records[i].implement_id for i in named], named, x, y, marked)


def _name_points(
    axes: Axes, names: Sequence[str], which: Sequence[int], x: Array, y: Array, marked: Sequence[int]
) -> None:
    """Write the names of some points where they cover no marked point and no other name, with a leader if far off."""
    figure = axes.get_figure(root=True)
    if not which or figure is None:
        return
    figure.draw_without_rendering()  # the layout is known only then
    per_point = 72 / figure.dpi
    at = axes.transData.transform(np.column_stack([x, y])) * per_point
    frame = axes.bbox.bounds
    left, low, right, high = (
        value * per_point for value in (frame[0], frame[1], frame[0] + frame[2], frame[1] + frame[3])
    )
    taken = [(px - 4, py - 4, px + 4, py + 4) for px, py in at[list(marked)].tolist()]
    for name, i in zip(map(printable.one_line, names), which, strict=True):
        px, py = at[i].tolist()
        width = LETTER_WIDTH * len(name)
        places = [
            (px + dx - (width if dx < 0 else 0), py + dy - LETTER_HEIGHT / 2)
            for far in (7, 16, 26, 38, 52, 68)
            for dx, dy in ((far, 0), (far, far), (far, -far), (-far, 0), (-far, far), (-far, -far), (1, far), (1, -far))
        ]
        boxes = [(bx, by, bx + width, by + LETTER_HEIGHT) for bx, by in places]
        free = [box for box in boxes if box[0] >= left and box[1] >= low and box[2] <= right and box[3] <= high]
        box = next((box for box in free if not any(_cross(box, other) for other in taken)), (free or boxes)[0])
        taken.append(box)
        away = (box[0] - px, box[1] - py)
        leader = {"arrowstyle": "-", "lw": 0.5, "color": INK, "shrinkA": 0, "shrinkB": 3}
        far_off = math.hypot(max(abs(away[0] + width / 2) - width / 2, 0), away[1]) > LEADER_FROM
        axes.annotate(
            name,
            (x[i], y[i]),
            away,
            textcoords="offset points",
            fontsize=7,
            arrowprops=leader if far_off else None,
            bbox=dict(PAPER),
            zorder=4,
        )


def _cross(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
