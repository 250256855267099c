"""What each task asks of one tractor, step by step, for the middle case, so that each step can be redone by hand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.results.answer import OPTIONAL, Answer
from evener.results.margins import AxleShare, Span, shared
from evener.results.place import NotSized, not_sized
from evener.schema import fields
from evener.schema.certainty import by_hand
from evener.scoring.combinations.asked import asked_of, last_steps
from evener.scoring.core.draws import Draws, quantile
from evener.scoring.core.trace import Trace
from evener.scoring.decision.sizing import size_job
from evener.scoring.gives.capacity import FIELD

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from evener.enquiry.enquiry import Enquiry
    from evener.scoring.combinations.margins import AxisFit
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.printing import Units
    from evener.scoring.core.trace import Step
    from evener.scoring.gives.offer import Offer


@dataclass(frozen=True)
class Given:
    """One input of a step, with its unit."""

    value: float | str
    unit: str


@dataclass(frozen=True)
class WorkedStep:
    """One published or practical rule applied once, in SI units.

    Attributes
    ----------
    method : id of its formula in the method table, where it is one of those
    formula : the rule as printed
    inputs : every input by name
    result, unit : what came out
    source, status : where the rule comes from, and how well it is known
    """

    method: str | None = field(metadata=OPTIONAL)
    formula: str
    inputs: Mapping[str, Given]
    result: float | str
    unit: str
    source: str
    status: str


@dataclass(frozen=True)
class Estimate:
    """One of several ways to the same demand; the one that governs is marked."""

    basis: str
    unit: str
    governs: bool
    demand: Span
    steps: tuple[WorkedStep, ...]


@dataclass(frozen=True)
class ExplainedDemand:
    """What one task asks on one axis, what the tractor has there, and how both came about.

    Attributes
    ----------
    task, axis, unit, basis : what is asked, where, and what it rests on
    middle : asked in the middle case, which the steps work out
    demand : asked over all draws
    capacity, margin, assumed_from : what the tractor has, what is to spare, and the class that stands in
    axle_share : what stays on the axle that a raised machine lightens, where that is what is asked
    estimates : the ways to it that stand beside each other
    steps, capacity_steps : how the demand and the capacity came about
    notes : what else was noticed
    """

    task: str
    axis: str
    unit: str
    basis: str
    middle: float
    demand: Span
    capacity: float | None
    margin: float | None
    assumed_from: str | None
    axle_share: AxleShare | None
    estimates: tuple[Estimate, ...]
    steps: tuple[WorkedStep, ...]
    capacity_steps: tuple[WorkedStep, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class ExplainedGate:
    """Something of a task that fits the tractor or does not."""

    axis: str
    asked: str
    offered: str
    ok: bool
    task: str


@dataclass(frozen=True)
class Explanation(Answer):
    """One tractor against a job, step by step.

    Attributes
    ----------
    tractor_id, label : the tractor
    adequacy : share of draws in which it does every task that comes
    confidence, meets : the share of the surest class's that is enough on a task, and whether it is on every one
    assumed : fields that its class stands in for
    tasks : what each task asks on each axis
    gates : what fits and what does not
    not_sized : tasks that could not be sized
    """

    tractor_id: str
    label: str
    adequacy: float
    confidence: float
    meets: bool
    assumed: tuple[str, ...]
    tasks: tuple[ExplainedDemand, ...]
    gates: tuple[ExplainedGate, ...]
    not_sized: tuple[NotSized, ...]

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per step, of what is asked and of what the tractor has.

        Parameters
        ----------
        units : steps are worked in SI whatever is asked
        """
        return [
            {
                "tractor_id": self.tractor_id,
                "task": one["task"],
                "axis": one["axis"],
                "side": side,
                "step": position,
                "formula": step["formula"],
                "inputs": "; ".join(
                    f"{name} = {each['value']} {each['unit']}" for name, each in step["inputs"].items()
                ),
                "result": step["result"],
                "unit": step["unit"],
                "source": step["source"],
                "status": step["status"],
                "method": step.get("method"),
            }
            for one in self.to_dict(units)["tasks"]
            for side, steps in (("asks", one["steps"]), ("has", one["capacity_steps"]))
            for position, step in enumerate(steps, 1)
        ]


def explain(enquiry: Enquiry, tractor_id: str) -> Explanation:
    """Explain what each task asks of one tractor.

    Parameters
    ----------
    enquiry : the job and the records
    tractor_id : id of a tractor record of any kind

    Raises
    ------
    evener.NoSuchTractor
        There is no such record; the nearest ids are in the text.
    """
    tractors, chosen = enquiry.tractors, [enquiry.tractor(tractor_id)]
    sizing, middle = (
        size_job(enquiry.job, enquiry.library),
        size_job(enquiry.job, enquiry.library, Draws(n=1), traced=True),
    )
    classes = [one for one in tractors if one.kind == "class"]
    score = sizing.score(chosen, classes)[0]
    central = middle.score(chosen, classes)[0].offer
    details = sizing.detail(score.offer, score.reach)
    at_middle = {task.task: task for task in middle.tasks}  # a range can leave a formula where its middle does not
    return Explanation(
        tractor_id=tractor_id,
        label=chosen[0].label,
        adequacy=score.adequacy,
        confidence=sizing.confidence,
        meets=score.meets,
        assumed=tuple(score.offer.assumed(sizing.tasks)),
        tasks=tuple(
            _explained(demand, wide, axis, score.offer, central)
            for spread, detail in zip(sizing.tasks, details, strict=True)
            if (task := at_middle.get(spread.task)) is not None
            for demand, wide, axis in zip(task.demands, spread.demands, detail.axes, strict=True)
        ),
        gates=tuple(
            ExplainedGate(gate.axis, gate.asked, gate.offered, gate.ok, gate.task)
            for detail in details
            for gate in detail.gates
        ),
        not_sized=not_sized(sizing),
    )


def _explained(demand: Demand, wide: Demand, axis: AxisFit, offered: Offer, central: Offer) -> ExplainedDemand:
    """Return one demand's steps in the middle case, with its spread and the estimates that stand beside it."""
    low_high = (min(axis.level, 1 - axis.level), 0.5, axis.level)
    estimates = []
    for made, spread in zip(demand.estimates, wide.estimates, strict=True):
        power = spread.alpha + spread.beta * (offered.mass.draws if offered.mass.draws is not None else 0.0)
        asked = Span(*(quantile(np.asarray(power), p) for p in low_high))
        governs = made.basis == demand.basis
        estimates.append(Estimate(made.basis, demand.unit, governs, asked, worked(made.steps)))
    return ExplainedDemand(
        task=demand.task,
        axis=demand.axis,
        unit=demand.unit,
        basis=demand.basis,
        middle=float(asked_of(demand, central)[0]),
        demand=Span(axis.low, axis.median, axis.high),
        capacity=axis.capacity,
        margin=axis.margin,
        assumed_from=axis.assumed_from,
        axle_share=shared(axis),
        estimates=tuple(estimates),
        steps=worked((*demand.steps, *last_steps(demand, central))),
        capacity_steps=worked(central.steps(demand, Trace(on=True))),
        notes=(*demand.notes, *_by_hand(demand, offered)),
    )


def _by_hand(demand: Demand, offered: Offer) -> tuple[str, ...]:
    """Return what a person put in the place of a list's figures, where the capacity rests on one."""
    used = set(offered.block.taken) if demand.terms is not None else {FIELD[demand.axis]}
    used |= {"hitch_lift_ends_kg"} if "hitch_lift_610_kg" in used else set()
    said = []
    for name, sure in sorted(offered.record.estimated.items()):
        if name in used and by_hand(sure):
            what = fields.of("tractor")[name].plain_name.replace("_", " ")
            how = "corrected by hand" if sure.kind == "corrected" else f"doubted by {sure.spread_pct:g} % either way"
            said.append(f"{what} of {offered.record.tractor_id} is {how}: {sure.basis}")
    return tuple(said)


def worked(steps: Iterable[Step]) -> tuple[WorkedStep, ...]:
    """Return steps as the contract has them."""
    return tuple(
        WorkedStep(
            method=one.method or None,
            formula=one.formula,
            inputs={name: Given(figure.value, figure.unit) for name, figure in one.inputs.items()},
            result=one.result.value,
            unit=one.result.unit,
            source=one.source,
            status=one.status,
        )
        for one in steps
    )
