"""The parts an open answer is split into: some, with bounds a person would name, and the share each has."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from evener.schema import units as unit_table

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.printing import Units

WANTED = 8
FEW = 0.01
SHORT_FT = 2.0
ROUGHLY = 20  # the ends of a range are told to about so many steps of it
SLIVER = 0.2  # an end part narrower than this share of a step joins its neighbour
STEPS = (1.0, 2.0, 2.5, 5.0)
INCH_STEPS = (0.0625, 0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0)
_NEAR = 1e-9


@dataclass(frozen=True)
class Scale:
    """How values of one kind are written: `shown = value * factor symbol`."""

    symbol: str
    factor: float


@dataclass(frozen=True)
class Span:
    """One part of an open answer.

    Attributes
    ----------
    low, high : its bounds, in SI
    share : chance that the answer lies in it
    """

    low: float
    high: float
    share: float

    @property
    def middle(self) -> float:
        """What is taken for an answer in it: a tape gives one number, not a range."""
        return (self.low + self.high) / 2


def scale(unit: str, units: Units, field: str, high: float = math.inf) -> Scale:
    """Return how a field of this SI unit is written for a reader of these units.

    A slope is always in per cent, electric power in kW, and what is shorter than two feet in inches.

    Parameters
    ----------
    unit, units, field : the SI unit, the reader's system, and the field
    high : the most it is believed to be [SI]
    """
    if field in {"slope", "steepest"}:
        return Scale("%", 100.0)
    if field == "electric_power_kw":
        return Scale("kW", 1.0)
    if units == "us":
        shown = Scale(*unit_table.us(unit, field=field))
        short = shown.symbol == "ft" and high * shown.factor < SHORT_FT
        return Scale("in", shown.factor * 12) if short else shown
    if unit == "m" and field in unit_table.INCH_FIELDS:
        return Scale("mm", 1000.0)
    return Scale(unit, 1.0)


def spans(low: float, high: float, scaled: Scale, values: Array | None = None) -> list[Span]:
    """Split a range at round numbers of its scale into about eight parts.

    Parameters
    ----------
    low, high : bounds of what is believed, in SI
    scaled : the scale whose round numbers are the bounds
    values : draws of the answer; without them it is as likely anywhere in its range
    """
    cuts = [cut / scaled.factor for cut in _cuts(low * scaled.factor, high * scaled.factor, scaled.symbol)]
    ends = [low, *cuts, high]
    found = [Span(first, last, (last - first) / (high - low)) for first, last in pairwise(ends)]
    if values is None:
        return found
    inside = np.histogram(np.clip(values, low, high), bins=np.array(ends))[0] / values.size
    return _with_enough([Span(one.low, one.high, float(part)) for one, part in zip(found, inside, strict=True)])


def _with_enough(found: list[Span]) -> list[Span]:
    """Join parts in which hardly any draw lies to a neighbour: nothing can be told of them."""
    kept: list[Span] = []
    for one in found:
        if kept and min(one.share, kept[-1].share) < FEW:
            kept[-1] = Span(kept[-1].low, one.high, kept[-1].share + one.share)
        else:
            kept.append(one)
    return kept


def counts(low: float, high: float, values: Array | None = None) -> list[Span]:
    """Split a range of a count at the whole numbers it is rounded to.

    Parameters
    ----------
    low, high : bounds of what is believed
    values : draws of the answer; without them it is as likely anywhere in its range
    """
    if values is not None:
        numbers, times = np.unique(np.round(np.clip(values, low, high)), return_counts=True)
        return [Span(float(n), float(n), float(share)) for n, share in zip(numbers, times / values.size, strict=True)]
    whole = range(math.floor(low + 0.5), math.ceil(high - 0.5) + 1)
    ends = [(max(low, number - 0.5), min(high, number + 0.5)) for number in whole]
    total = sum(last - first for first, last in ends) or 1.0
    return [
        Span(float(number), float(number), (last - first) / total)
        for number, (first, last) in zip(whole, ends, strict=True)
        if last > first
    ]


def text(low: float, high: float, scaled: Scale, whole: tuple[float, float] | None = None) -> str:
    """Return a part in words: "1 to 1.5 in", or one number where its ends are one.

    Parameters
    ----------
    low, high : ends of the part
    scaled : how they are written
    whole : ends of the range it is a part of: those are told no finer than the range is wide
    """
    first, last = _ends(low, high, scaled, whole)
    return f"{last if first == last else f'{first} to {last}'}{_unit(scaled)}"


def ends(low: float, high: float, scaled: Scale, whole: tuple[float, float] | None = None) -> tuple[str, str]:
    """Return the two ends of a part in words, each with its unit: "1 in" and "1.5 in".

    Parameters
    ----------
    low, high, scaled, whole : as `text` takes them
    """
    first, last = _ends(low, high, scaled, whole)
    return f"{first}{_unit(scaled)}", f"{last}{_unit(scaled)}"


def _unit(scaled: Scale) -> str:
    return "" if scaled.symbol == "1" else f" {scaled.symbol}"


def _ends(low: float, high: float, scaled: Scale, whole: tuple[float, float] | None) -> tuple[str, str]:
    first, last = low * scaled.factor, high * scaled.factor
    if abs(last - first) <= _NEAR * max(abs(last), 1.0):
        return (_number(last, abs(last)),) * 2
    found = (_number(first, last - first), _number(last, last - first))
    if whole is None:
        return found
    finest = (whole[1] - whole[0]) * scaled.factor
    rough = [_to_within(value, finest / ROUGHLY) for value in (first, last)]
    outer = [rough[at] if end == whole[at] else found[at] for at, end in enumerate((low, high))]
    return (outer[0], outer[1]) if outer[0] != outer[1] else found


def _to_within(value: float, step: float) -> str:
    """Return a number to as many decimals as tell steps of this width apart."""
    shown = f"{value:,.{max(0, math.ceil(-math.log10(step)))}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _number(value: float, width: float) -> str:
    """Return a number to the decimals that tell the ends of a part of this width apart."""
    decimals = 0 if width <= 0 else max(0, 1 - math.floor(math.log10(width)))
    shown = f"{value:,.{min(decimals, 4)}f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def _cuts(low: float, high: float, symbol: str) -> list[float]:
    """Return the round numbers between two that part them into about as many parts as are wanted."""
    width = high - low
    if width <= 0:
        return []
    if symbol == "in" and width <= WANTED * INCH_STEPS[-1]:
        steps = list(INCH_STEPS)
    else:
        decade = 10.0 ** math.floor(math.log10(width))
        steps = [step * size for size in (decade / 100, decade / 10, decade) for step in STEPS]
    choices = [_multiples(low, high, step) for step in steps]
    return min(choices, key=lambda cuts: (abs(len(cuts) + 1 - WANTED), len(cuts)))


def _multiples(low: float, high: float, step: float) -> list[float]:
    first, last = math.floor(low / step) + 1, math.ceil(high / step) - 1
    if last - first > 4 * WANTED:
        return [0.0] * (last - first)
    cuts = [number * step for number in range(first, last + 1)]
    return [cut for cut in cuts if cut - low > SLIVER * step and high - cut > SLIVER * step]
