"""Margins, adequacy, thrift and fit of tractors against what the tasks ask, over the shared draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.gates import offered, passes
from evener.scoring.core.draws import quantile, quantiles, share
from evener.scoring.core.trace import Step, step
from evener.scoring.gives.capacities import TEST_POINT_M, Offer

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array, Draws, Mask

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


@dataclass(frozen=True)
class Score:
    """One tractor against all tasks.

    Attributes
    ----------
    adequacy : share of draws in which it meets every demand
    thrift : demand / capacity where it is tightest, in the median draw, at most 1
    meets : whether adequacy reaches the asked confidence
    """

    offer: Offer
    adequacy: float
    thrift: float
    meets: bool

    @property
    def fit(self) -> float:
        """100 x adequacy x thrift."""
        return 100.0 * self.adequacy * self.thrift


@dataclass(frozen=True)
class Outcome:
    """How one tractor fares in every draw.

    Attributes
    ----------
    met : the draws in which it meets every demand and gate
    tightest : demand / capacity per draw, where it is largest [1]
    """

    met: Mask
    tightest: Array


def asked_of(demand: Demand, offer: Offer) -> Array:
    """Return what a demand asks of this tractor, in the axis's unit, at the point its capacity is rated at."""
    if demand.depends == "lever_m" and demand.terms is not None:
        lever = demand.terms.lever_m(offer)
        return demand.alpha if lever is None else demand.alpha + demand.beta * lever
    if demand.depends == "mass_kg":
        mass = offer.mass.draws
        return demand.alpha if mass is None else demand.alpha + demand.beta * mass
    if demand.depends == "link_per_m":
        return (demand.alpha + demand.beta * offer.link) / (1 + TEST_POINT_M * offer.link)
    return demand.alpha


def last_steps(demand: Demand, offer: Offer) -> tuple[Step, ...]:
    """Return the step that brings a demand to this tractor, where one of its properties takes part."""
    asked = asked_of(demand, offer)
    if demand.depends == "mass_kg" and offer.mass.draws is not None and np.any(demand.beta):
        mass = offer.mass.draws
        moved: dict[str, tuple[Array | float | str, str]] = {
            "alpha": (demand.alpha, demand.unit),
            "beta": (demand.beta, f"{demand.unit}/kg"),
            "tractor": (mass, "kg"),
        }
        formula = f"{'P' if demand.axis == 'pto_power' else 'D'} = alpha + beta x mass of the tractor"
        return (step(formula, moved, (asked, demand.unit), source="PRACTICE", status="practice"),)
    if demand.depends == "lever_m" and demand.terms is not None:
        lever = demand.terms.lever_m(offer)
        if lever is None:
            return ()
        turned: dict[str, tuple[Array | float | str, str]] = {
            "G": (demand.beta, "kg"),
            "d": (demand.alpha / demand.beta, "m"),
            "hitch from the axle": (lever, "m"),
        }
        formula = "moment about the axle = G (hitch from the axle + d)"
        return (step(formula, turned, (asked, demand.unit), source="BALLAST-OM", status="published"),)
    if demand.depends == "link_per_m":
        inputs: dict[str, tuple[Array | float | str, str]] = {
            "m / (1 - reserve)": (demand.alpha, "kg"),
            "x": (demand.beta / demand.alpha, "m"),
            "c of the tractor's hitch": (offer.link, "1/m"),
        }
        formula = "lift asked at 610 mm = m (1 + c x) / (1 + 0.61 c) / (1 - reserve)"
        return (step(formula, inputs, (asked, demand.unit), source="PRACTICE", status="practice"),)
    return ()


def _ratio(demand: Demand, offer: Offer) -> Array | None:
    """Return demand / capacity per draw, or None where the capacity is not known or asks of an unknown mass."""
    capacity = offer.on(demand).draws
    if capacity is None or (demand.depends == "mass_kg" and offer.mass.draws is None and bool(np.any(demand.beta))):
        return None
    return asked_of(demand, offer) / capacity


def present(task: TaskDemands, draws: Draws) -> Mask:
    """Return in which draws a task comes; a plan comes with its chance."""
    if task.chance >= 1.0:
        return np.ones(draws.n, bool)
    return draws.happens(f"task/{task.task}/happens", task.chance)


def outcome(tasks: Sequence[TaskDemands], offer: Offer, draws: Draws) -> Outcome:
    """Set one tractor against tasks, draw by draw."""
    met = np.ones(draws.n, bool)
    tightest = np.zeros(draws.n)
    for task in tasks:
        comes = present(task, draws)
        for demand in task.demands:
            ratio = _ratio(demand, offer)
            if ratio is None:
                met &= ~comes
                continue
            met &= (ratio <= 1.0) | ~comes
            np.maximum(tightest, np.where(comes, ratio, 0.0), out=tightest)
        if not all(passes(gate, offer.tractor) for gate in task.gates):
            met &= ~comes
    return Outcome(met, tightest)


def judge(offer: Offer, found: Outcome, confidence: float) -> Score:
    """Sum a tractor's outcome up over the draws."""
    adequacy = share(found.met)
    return Score(offer, adequacy, min(1.0, quantile(found.tightest, 0.5)), adequacy >= confidence)


def score(tasks: Sequence[TaskDemands], offer: Offer, draws: Draws, confidence: float) -> Score:
    """Score one tractor against all tasks."""
    return judge(offer, outcome(tasks, offer, draws), confidence)


def rank(scores: Sequence[Score]) -> list[Score]:
    """Order tractors: those that meet the confidence by fit, then the others by adequacy.

    Ties go to the smaller of those that meet, and to the larger of those that do not: it comes nearest.
    """

    def place(one: Score) -> tuple[bool, float, float, float, str]:
        first = one.fit if one.meets else one.adequacy
        second = 0.0 if one.meets else one.fit
        tractor = one.offer.tractor
        power = tractor.pto_power_kw or 0.0
        return (not one.meets, -first, -second, power if one.meets else -power, tractor.tractor_id)

    return sorted(scores, key=place)


def detail(tasks: Sequence[TaskDemands], offer: Offer, draws: Draws, confidence: float) -> tuple[TaskFit, ...]:
    """Return margins and gates per task for one tractor."""
    return tuple(_task_fit(task, offer, present(task, draws), confidence) for task in tasks)


def _task_fit(task: TaskDemands, offer: Offer, comes: Mask, confidence: float) -> TaskFit:
    met = np.ones(comes.size, bool)
    axes = []
    for demand in task.demands:
        ratio = _ratio(demand, offer)
        met &= (ratio <= 1.0) if ratio is not None else False
        axes.append(_axis_fit(demand, offer, ratio, comes, confidence))
    gates = tuple(
        GateFit(task.task, gate.axis, gate.asked, offered(gate, offer.tractor), passes(gate, offer.tractor))
        for gate in task.gates
    )
    met &= all(gate.ok for gate in gates)
    return TaskFit(task.task, share(met[comes]) if comes.any() else 1.0, tuple(axes), gates)


def _axis_fit(demand: Demand, offer: Offer, ratio: Array | None, comes: Mask, confidence: float) -> AxisFit:
    always = comes.all() or not comes.any()
    asked = asked_of(demand, offer) if always else asked_of(demand, offer)[comes]
    tight = ratio if ratio is None or always else ratio[comes]
    worst = max(quantile(tight, confidence), LEAST_RATIO) if tight is not None else None
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
        adequacy=0.0 if tight is None else share(tight <= 1.0),
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
