"""One tractor against the tasks: what each asks and it has, axis by axis and gate by gate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from evener.results.answer import OPTIONAL
from evener.scoring.combinations.margins import AxisFit, GateFit, TaskFit, failing


@dataclass(frozen=True)
class Span:
    """What is asked, at 1 - level, one half and level of the draws, in its axis's unit."""

    low: float
    median: float
    high: float


@dataclass(frozen=True)
class AxleShare:
    """What an axle keeps of the tractor's weight with a machine raised, a usual set of weights fitted.

    Attributes
    ----------
    kept : share of the unladen mass that it carries, as surely as it has to be met
    least : share that it has to carry
    weights, unit : weights at the other end that it takes to carry that
    """

    kept: float
    least: float
    weights: float
    unit: str = "kg"


@dataclass(frozen=True)
class AxisMargin:
    """What one task asks of one tractor on one axis, and what is to spare.

    Attributes
    ----------
    axis, unit : the axis, and the unit of demand and capacity
    demand : what has to be met
    capacity : what the tractor has, or None where that is not known
    margin : capacity / demand - 1 at the level
    basis : what the demand rests on
    adequacy : share of draws in which it is met
    assumed_from : the class that stands in for what the record does not state
    level : how surely it has to be met
    axle_share : what stays on the axle that a raised machine lightens, where that is what is asked
    """

    axis: str
    unit: str
    demand: Span
    capacity: float | None
    margin: float | None
    basis: str
    adequacy: float
    assumed_from: str | None
    level: float
    axle_share: AxleShare | None

    @classmethod
    def of(cls, fit: AxisFit) -> AxisMargin:
        """Return what was found on one axis."""
        asked = Span(fit.low, fit.median, fit.high)
        return cls(
            fit.axis,
            fit.unit,
            asked,
            fit.capacity,
            fit.margin,
            fit.basis,
            fit.adequacy,
            fit.assumed_from,
            fit.level,
            shared(fit),
        )


def shared(fit: AxisFit) -> AxleShare | None:
    """Return what an axle keeps, where that is what was found."""
    return None if fit.axle is None else AxleShare(*fit.axle)


@dataclass(frozen=True)
class Gate:
    """Something that fits or does not, such as a hitch category."""

    axis: str
    asked: str
    offered: str
    ok: bool


@dataclass(frozen=True)
class TaskMargins:
    """One task against one tractor.

    Attributes
    ----------
    task : its name
    adequacy : share of the draws in which it comes that it is done in
    pace : speed held over the usual one, in the middle
    axes, gates : margins, and what fits or does not
    """

    task: str
    adequacy: float
    pace: float
    axes: tuple[AxisMargin, ...]
    gates: tuple[Gate, ...]

    @classmethod
    def of(cls, fit: TaskFit) -> TaskMargins:
        """Return what was found for one task."""
        gates = tuple(Gate(gate.axis, gate.asked, gate.offered, gate.ok) for gate in fit.gates)
        return cls(fit.task, fit.adequacy, fit.pace, tuple(AxisMargin.of(axis) for axis in fit.axes), gates)


@dataclass(frozen=True)
class Limit:
    """The axis or gate where a tractor is tightest, or what it fails.

    Attributes
    ----------
    task, axis : where
    margin : how far, or None at a gate and where a capacity is not known
    asked, offered : at a gate, the two that do not fit
    """

    task: str
    axis: str
    margin: float | None
    asked: str | None = field(default=None, metadata=OPTIONAL)
    offered: str | None = field(default=None, metadata=OPTIONAL)

    @classmethod
    def of(cls, fit: AxisFit | GateFit) -> Limit:
        """Return an axis or a gate as a limit."""
        if isinstance(fit, GateFit):
            return cls(fit.task, fit.axis, None, fit.asked, fit.offered)
        return cls(fit.task, fit.axis, fit.margin)


def failures(details: Sequence[TaskFit]) -> tuple[Limit, ...]:
    """Return every gate and axis that is not met as surely as it has to be, what is far short first."""
    return tuple(map(Limit.of, failing(details)))
