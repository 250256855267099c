"""Margins of one tractor, axis by axis and gate by gate, over the shared draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.combinations.asked import asked_at_least
from evener.scoring.combinations.hard_axes import HARD, SURE
from evener.scoring.combinations.held_speed import held_pace
from evener.scoring.combinations.outcomes import least_ratio, present, task_outcome
from evener.scoring.combinations.part_load import with_share
from evener.scoring.core.draws import median, quantile, quantiles, share
from evener.scoring.gives.axle_share import axle_share
from evener.scoring.gives.gates import offered, passes

if TYPE_CHECKING:
    from evener.scoring.combinations.reach import Reach
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Mask
    from evener.scoring.gives.axle_share import AxleShare
    from evener.scoring.gives.offer import Offer

FAR_SHORT = -0.1  # by this much no adapter or option helps: it says more than a gate that is shut
LEAST_RATIO = 1e-6  # a demand of nothing, such as a height of 0, has a large margin and no infinite one


@dataclass(frozen=True)
class AxisFit:
    """One task's demand on one axis against one tractor.

    Attributes
    ----------
    low, median, high : what has to be met at 1 - level, one half and level of the draws, in the axis's unit
    capacity : what the tractor offers there, or None where that is not known
    margin : capacity / demand - 1 at the level: not negative exactly when the axis is met that surely
    adequacy : share of draws that meet it, among those in which the task comes
    level : how surely it has to be met
    axle : what an axle keeps of the tractor's weight, where that is what is asked
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
    level: float
    axle: AxleShare | None = None

    @property
    def short(self) -> bool:
        """Whether it is not met as surely as it has to be."""
        return self.adequacy < self.level


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
    """One task against one tractor.

    Attributes
    ----------
    adequacy : share of the draws in which it comes that it is done in
    pace : speed held over the usual one, in the middle of the draws in which it is done; 1 where nothing slows it
    """

    task: str
    adequacy: float
    pace: float
    axes: tuple[AxisFit, ...]
    gates: tuple[GateFit, ...]


def detail(
    tasks: Sequence[TaskDemands], offer: Offer, confidence: float, reach: Reach | None = None
) -> tuple[TaskFit, ...]:
    """Return margins and gates per task for one tractor.

    Parameters
    ----------
    tasks : what is asked
    offer : the tractor
    confidence : how surely an axis has to be met, where nothing is known of what can be reached
    reach : what the classes reach on each task
    """
    levels = [(reach.level(task) if reach is not None else 0.0) or confidence for task in tasks]
    return tuple(_task_fit(task, offer, level) for task, level in zip(tasks, levels, strict=True))


def _task_fit(task: TaskDemands, offer: Offer, level: float) -> TaskFit:
    comes = present(task, offer.draws)
    found = task_outcome(task, offer.block).met[0]
    gates = tuple(
        GateFit(task.task, gate.axis, gate.asked, offered(gate, offer.tractor), passes(gate, offer.tractor))
        for gate in task.gates
    )
    counted = found[comes] if comes.any() else np.ones(1, bool)
    held = held_pace(task, offer.block)[0][found]
    axes = tuple(_axis_fit(demand, offer, comes, SURE if demand.axis in HARD else level) for demand in task.demands)
    return TaskFit(task.task, share(counted), median(held) if held.size else 1.0, axes, gates)


def _axis_fit(demand: Demand, offer: Offer, comes: Mask, level: float) -> AxisFit:
    whole = _of_full_load(demand, offer, comes, level)
    parted, demand = whole is demand and demand.least_load < 1.0, whole
    ratios = np.broadcast_to(least_ratio(demand, offer.block)[0], comes.shape)
    asked = np.broadcast_to(asked_at_least(demand, offer.block)[0], comes.shape)
    known = not np.isnan(ratios).any()
    if comes.any():
        ratios, asked = ratios[comes], asked[comes]
    worst = max(quantile(ratios, level), LEAST_RATIO) if known else None
    offered_there = offer.on(demand)
    low, middle, high = quantiles(asked, min(level, 1 - level), 0.5, level)
    capacity = offered_there.value
    if demand.terms is not None and worst is not None:
        # What is worked out has its own spread: printed is what stands against the high end, so that figures agree.
        capacity = high / worst
    if parted and worst is not None and worst < 1.0 and capacity:
        # As much of the load is taken as it bears.
        low, middle, high, worst = low * capacity / high, middle * capacity / high, capacity, 1.0
    return AxisFit(
        task=demand.task,
        axis=demand.axis,
        unit=demand.unit,
        basis=demand.basis,
        low=low,
        median=middle,
        high=high,
        capacity=capacity,
        margin=None if worst is None else 1 / worst - 1,
        adequacy=share(ratios <= 1.0) if known else 0.0,
        assumed_from=offered_there.assumed_from,
        level=level,
        axle=axle_share(demand, offer.block, comes, level) if known else None,
    )


def _of_full_load(demand: Demand, offer: Offer, comes: Mask, level: float) -> Demand:
    """Return a demand of the full load where that is borne as surely as asked, else as it is, with a part of it."""
    if demand.least_load >= 1.0 or not comes.any():
        return demand
    whole = with_share(demand, 1.0)
    ratios = np.broadcast_to(least_ratio(whole, offer.block)[0], comes.shape)[comes]
    return whole if np.isnan(ratios).any() or quantile(ratios, level) <= 1.0 else demand


def limiting(details: Sequence[TaskFit]) -> AxisFit | GateFit | None:
    """Return the first of what fails, worst first, else the axis with the lowest margin."""
    found = failing(details)
    if found:
        return found[0]
    axes = [axis for task in details for axis in task.axes]
    return min(axes, key=_by_margin) if axes else None


def failing(details: Sequence[TaskFit]) -> list[AxisFit | GateFit]:
    """Return what is not met as surely as it has to be: axes far short, gates, the other axes; the worst first."""
    short = sorted((axis for task in details for axis in task.axes if axis.short), key=_by_margin)
    far = [axis for axis in short if axis.margin is not None and axis.margin < FAR_SHORT]
    shut = [gate for task in details for gate in task.gates if not gate.ok]
    return [*far, *shut, *(axis for axis in short if axis not in far)]


def _by_margin(axis: AxisFit) -> tuple[bool, float]:
    return axis.margin is not None, axis.margin or 0.0
