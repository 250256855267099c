"""What records of the same kind and size have, and which rows are far from them.

Peers are the store's generic records: the tractor classes, and the implements of the same family. Between two sizes a
straight line in logarithms says what a peer would have; `peers.csv` says how many times more or less is still likely. A
row that is far from its peers is loaded and reported: it may be rare and right.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from evener.ingest import findings
from evener.ingest.findings import Finding
from evener.ingest.text.held_values import Values, Words
from evener.schema import fields, units
from evener.schema.store import reading

if TYPE_CHECKING:
    from evener.schema.store.engine import Connection

FEWEST = 5
_REACH = 1.5  # a line says nothing about sizes more than so many times beyond its peers
_SPREAD = 1.3  # sizes that differ by less settle no slope
_NO_SLIP = (math.inf, "", "")
_NEAR = math.log(1.25)
# Units that are taken for each other: one slip multiplies a value by the ratio of two of them.
_MISTAKEN = (("lb", "kg"), ("in", "cm", "ft", "m", "mm"), ("gpm", "L/min"), ("gal", "L"))
_CLASSES = "classes"


@dataclass(frozen=True)
class Likeness:
    """One line of `peers.csv`: how far a field may be from what peers have.

    Attributes
    ----------
    record, name : kind of record and its field
    by : field that tells the size, or "" where all peers count alike
    low, high : least and most that is likely, over what peers have [1]
    """

    record: str
    name: str
    by: str
    low: float
    high: float


@dataclass(frozen=True)
class Line:
    """What peers of one group have: ln value = offset + slope x ln size, for sizes from `first` to `last`."""

    offset: float
    slope: float
    first: float
    last: float
    low: float
    high: float


@lru_cache(maxsize=1)
def likenesses() -> tuple[Likeness, ...]:
    """Return the lines of `peers.csv`."""
    text = resources.files("evener.schema").joinpath("peers.csv").read_text(encoding="utf-8")
    return tuple(
        Likeness(row["record"], row["field"], row["by"], float(row["low"]), float(row["high"]))
        for row in csv.DictReader(text.splitlines())
    )


@dataclass(frozen=True)
class Peers:
    """What the store's generic records have, by likeness and group."""

    lines: Mapping[Likeness, Mapping[str, Line]] = field(default_factory=dict)

    def check(
        self,
        record: str,
        values: Mapping[str, Values],
        at: Sequence[int] | NDArray[np.int64],
        keep: NDArray[np.bool_],
    ) -> Iterator[tuple[int, Finding]]:
        """Yield the rows that are far from their peers; a row is blamed once.

        Parameters
        ----------
        record : kind of record the rows are
        values : by field, the values of all rows
        at : line of the file of each row
        keep : rows that are looked at
        """
        blamed: set[int] = set()
        for likeness, groups in self.lines.items():
            held = values.get(likeness.name)
            if likeness.record != record or held is None or isinstance(held, Words):
                continue
            for group, line in groups.items():
                rows = keep & ~np.isnan(held) & _members(record, group, values)
                for position, ratio in _far(likeness, line, values, held, rows):
                    if position not in blamed:
                        blamed.add(position)
                        yield position, _finding(likeness, group, held[position], ratio, int(at[position]))


def peers_in(con: Connection) -> Peers:
    """Return what the generic records of an open store have."""
    lines: dict[Likeness, dict[str, Line]] = {}
    for likeness in likenesses():
        rows = reading.read_sizes(con, likeness.record, likeness.by, likeness.name)
        by_group: dict[str, list[tuple[float, float]]] = {}
        for name, one, value in rows:
            by_group.setdefault(name, []).append((one, value))
        lines[likeness] = {
            name: _line(np.array(pairs, float)) for name, pairs in sorted(by_group.items()) if len(pairs) >= FEWEST
        }
    return Peers(lines)


def _line(pairs: NDArray[np.float64]) -> Line:
    sizes, logs = pairs[:, 0], np.log(pairs[:, 1])
    slope, offset = 0.0, float(np.median(logs))
    if sizes.max() > _SPREAD * sizes.min():
        slope, offset = (float(one) for one in np.polyfit(np.log(sizes), logs, 1))
    ends = (float(pairs[:, 1].min()), float(pairs[:, 1].max()))
    return Line(offset, slope, float(sizes.min()), float(sizes.max()), *ends)


def _members(record: str, group: str, values: Mapping[str, Values]) -> NDArray[np.bool_] | bool:
    families = values.get("family")
    return families.is_word(group) if record == "implement" and isinstance(families, Words) else True


def _far(
    likeness: Likeness, line: Line, values: Mapping[str, Values], held: NDArray[np.float64], rows: NDArray[np.bool_]
) -> list[tuple[int, float]]:
    """Return the rows beyond what is likely, with the value over what peers of the size have."""
    positions = np.flatnonzero(rows)
    if likeness.by:
        size = values[likeness.by]
        if isinstance(size, Words):
            return []
        positions = positions[(size[positions] >= line.first / _REACH) & (size[positions] <= line.last * _REACH)]
        expected = np.exp(line.offset + line.slope * np.log(size[positions]))
    else:
        expected = np.clip(held[positions], line.low, line.high)
    ratios = held[positions] / expected
    far = (ratios < likeness.low) | (ratios > likeness.high)
    return list(zip(positions[far].tolist(), ratios[far].tolist(), strict=True))


def _finding(likeness: Likeness, group: str, value: float, ratio: float, line: int) -> Finding:
    unit = fields.of(likeness.record)[likeness.name].unit
    others = "tractor classes" if group == _CLASSES else f"records of {group}"
    by = f" of its {likeness.by}" if likeness.by else ""
    shown = {"value": f"{value:.4g} {unit}", "usual": f"{value / ratio:.3g} {unit}", "others": others + by}
    return findings.FarFromPeers(
        row=line, column=likeness.name, values={**shown, "ratio": f"{ratio:.2g}", "suspect": _suspect(unit, ratio)}
    )


@lru_cache(maxsize=64)
def _slips(unit: str) -> tuple[tuple[float, str, str], ...]:
    """Return the slips a value in a unit can come from: logarithm of its ratio, unit meant, unit of the heading."""
    return tuple(
        (math.log(units.factor(given, meant)), meant, given)
        for group in _MISTAKEN
        if unit in group
        for given in group
        for meant in group
        if given != meant
    )


def _suspect(unit: str, ratio: float) -> str:
    """Name the slip of units that would account for a ratio, if one does."""
    near = min(((abs(math.log(ratio) - log), meant, given) for log, meant, given in _slips(unit)), default=_NO_SLIP)
    return f"; were {near[1]} written under a heading of {near[2]}?" if near[0] < _NEAR else ""
