"""The class to buy, what decides it, and the classes one size below and above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evener.results.answer import CLASS, OPTIONAL
from evener.results.margins import Limit, Span, failures
from evener.scoring.advice.remedies import Remedy, remedies
from evener.scoring.combinations.margins import limiting
from evener.scoring.core.draws import quantile
from evener.scoring.decision.ladder import same_size

if TYPE_CHECKING:
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing


@dataclass(frozen=True)
class PowerAsked:
    """The task that asks most of the PTO, and what it asks."""

    task: str
    axis: str
    unit: str
    demand: Span


@dataclass(frozen=True)
class Size:
    """The size to buy.

    Attributes
    ----------
    class_id : the class to buy, or None where none meets the work
    decided_by : where it is tightest
    adequacy : share of draws in which it meets every task
    pto_power, unit : its power at the PTO
    label : its name
    asked : the task that asks most of the PTO
    """

    class_id: str | None = field(metadata=CLASS)
    decided_by: Limit | None
    adequacy: float | None
    pto_power: float | None
    unit: str
    label: str | None = field(default=None, metadata=OPTIONAL)
    asked: PowerAsked | None = field(default=None, metadata=OPTIONAL)


@dataclass(frozen=True)
class Step:
    """A class of another size, with what it fails, what would mend that, and where it is tightest."""

    class_id: str = field(metadata=CLASS)
    label: str
    pto_power: float | None
    unit: str
    adequacy: float
    meets: bool
    fails: tuple[Limit, ...]
    remedies: tuple[Remedy, ...]
    limiting: Limit | None


@dataclass(frozen=True)
class Steps:
    """The class one size below the one to buy, and the one above; None where there is none."""

    below: Step | None
    above: Step | None


def size(sizing: Sizing, best: Score | None) -> Size:
    """Return the class to buy with what decides it."""
    asked = None
    if sizing.power_asked is not None:
        task, power = sizing.power_asked
        spread = (quantile(power, p) for p in (1 - sizing.confidence, 0.5, sizing.confidence))
        asked = PowerAsked(task, "pto_power", "kW", Span(*spread))
    if best is None:
        return Size(None, None, None, None, "kW", None, asked)
    tractor = best.offer.tractor
    tightest = limit(sizing, best)
    return Size(tractor.tractor_id, tightest, best.adequacy, tractor.pto_power_kw, "kW", tractor.label, asked)


def steps(sizing: Sizing, classes: Sequence[Score], best: Score | None) -> Steps:
    """Return the class below the best, with what it fails, and the one above; where none is best, the nearest."""
    by_power = sorted(classes, key=lambda one: (_power(one), one.offer.tractor.tractor_id))
    if best is None:
        nearest = max(by_power, key=lambda one: (one.nearness, _power(one)), default=None)
        return Steps(_step(sizing, nearest) if nearest else None, None)
    others = [one for one in by_power if not same_size(one.tractor, best.tractor)]
    lower = [one for one in others if _power(one) < _power(best)]
    higher = [one for one in others if _power(one) > _power(best)]
    return Steps(_step(sizing, lower[-1]) if lower else None, _step(sizing, higher[0]) if higher else None)


def limit(sizing: Sizing, one: Score) -> Limit | None:
    """Return where one tractor is tightest."""
    found = limiting(sizing.detail(one.offer, one.reach))
    return None if found is None else Limit.of(found)


def _power(one: Score) -> float:
    return one.offer.tractor.pto_power_kw or 0.0


def _step(sizing: Sizing, one: Score) -> Step:
    tractor, details = one.offer.tractor, sizing.detail(one.offer, one.reach)
    return Step(
        class_id=tractor.tractor_id,
        label=tractor.label,
        pto_power=tractor.pto_power_kw,
        unit="kW",
        adequacy=one.adequacy,
        meets=one.meets,
        fails=failures(details),
        remedies=tuple(remedies(sizing, one.offer, details)),
        limiting=limit(sizing, one),
    )
