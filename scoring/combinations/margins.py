"""Margins of one tractor, axis by axis and gate by gate, over the shared draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.asked import asked_of
from evener.scoring.combinations.outcomes import present, ratio
from evener.scoring.core.draws import quantile, quantiles, share
from evener.scoring.gives.gates import offered, passes

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.gives.offer import Offer

LEAST_RATIO = 1e-6  # a demand of nothing, such as a height of 0, has a large margin and no infinite one


@dataclass(frozen=True)
class AxisFit:
    """One task's demand on one axis against one tractor.

    Attributes
    ----------
    low, median, high : the demand at 1 - confidence, one half and confidence, in the axis's unit
    capacity : what the tractor offers there, or None where that is not known
    margin : capacity / demand - 1 at the asked confidence: not negative exactly when the axis is met that surely
    adequacy : share of draws that meet it, among those in which the task comes
    """

    task: str
    axis: str
    unit: str
    basis: str
    low: float
    median: float
    high: float
    capacity: float | None
    margin: float | None
    adequacy: float
    assumed_from: str | None


@dataclass(frozen=True)
class GateFit:
    """One task's gate against one tractor."""

    task: str
    axis: str
    asked: str
    offered: str
    ok: bool


@dataclass(frozen=True)
class TaskFit:
    """One task against one tractor."""

    task: str
    adequacy: float
    axes: tuple[AxisFit, ...]
    gates: tuple[GateFit, ...]


def detail(tasks: Sequence[TaskDemands], offer: Offer, confidence: float) -> tuple[TaskFit, ...]:
    """Return margins and gates per task for one tractor."""
    return tuple(_task_fit(task, offer, present(task, offer.draws), confidence) for task in tasks)


def _task_fit(task: TaskDemands, offer: Offer, comes: Mask, confidence: float) -> TaskFit:
    met = np.ones(comes.size, bool)
    axes = []
    for demand in task.demands:
        tight = np.broadcast_to(ratio(demand, offer.block)[0], comes.shape)
        met &= tight <= 1.0
        axes.append(_axis_fit(demand, offer, tight, comes, confidence))
    gates = tuple(
        GateFit(task.task, gate.axis, gate.asked, offered(gate, offer.tractor), passes(gate, offer.tractor))
        for gate in task.gates
    )
    met &= all(gate.ok for gate in gates)
    return TaskFit(task.task, share(met[comes]) if comes.any() else 1.0, tuple(axes), gates)


def _axis_fit(demand: Demand, offer: Offer, ratios: Array, comes: Mask, confidence: float) -> AxisFit:
    always = comes.all() or not comes.any()
    asked = asked_of(demand, offer) if always else asked_of(demand, offer)[comes]
    known = not np.isnan(ratios).any()
    tight = ratios if always else ratios[comes]
    worst = max(quantile(tight, confidence), LEAST_RATIO) if known else None
    offered_there = offer.on(demand)
    low, median, high = quantiles(asked, 1 - confidence, 0.5, confidence)
    capacity = offered_there.value
    if demand.terms is not None and worst is not None:
        # What is worked out has its own spread: printed is what stands against the high end, so that figures agree.
        capacity = high / worst
    return AxisFit(
        task=demand.task,
        axis=demand.axis,
        unit=demand.unit,
        basis=demand.basis,
        low=low,
        median=median,
        high=high,
        capacity=capacity,
        margin=None if worst is None else 1 / worst - 1,
        adequacy=share(tight <= 1.0) if known else 0.0,
        assumed_from=offered_there.assumed_from,
    )


def limiting(details: Sequence[TaskFit]) -> AxisFit | GateFit | None:
    """Return the gate that fails, else an axis not shown to be met, else the axis with the lowest margin."""
    for task in details:
        for gate in task.gates:
            if not gate.ok:
                return gate
    axes = [axis for task in details for axis in task.axes]
    if not axes:
        return None
    return min(axes, key=lambda axis: (axis.margin is not None, axis.margin if axis.margin is not None else 0.0))
