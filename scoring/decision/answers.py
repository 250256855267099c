"""The answers people and programs read: plain dictionaries with the keys of the JSON contract, in SI or US units."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from evener.schema.records import JobSheet, Tractor, TractorKind
from evener.scoring.combinations import cautions
from evener.scoring.combinations import margins as fit
from evener.scoring.combinations.margins import AxisFit, GateFit, Score, TaskFit
from evener.scoring.combinations.remedies import fixes
from evener.scoring.combinations.work_time import work
from evener.scoring.core.demand import Demand
from evener.scoring.core.draws import Draws, quantile
from evener.scoring.core.printing import Units, in_units
from evener.scoring.core.setting import Library
from evener.scoring.decision.owned import owned
from evener.scoring.decision.plans import plans
from evener.scoring.decision.sizing import Sizing, size_job
from evener.scoring.decision.what_if import WhatIf
from evener.scoring.gives.capacities import Offer
from evener.scoring.questions.open_unknowns import open_unknowns
from evener.scoring.questions.reconcile import reconcile

SCHEMA = 1
ROWS = 8


def rank(
    job: JobSheet,
    library: Library,
    tractors: Sequence[Tractor],
    *,
    among: Iterable[TractorKind] = ("class",),
    top: int = ROWS,
    units: Units = "si",
) -> dict[str, Any]:
    """Rank tractors for a job, with margins and reasons.

    Parameters
    ----------
    job : the customer's job sheet
    library : records and published tables, as read from a store
    tractors : all tractor records; classes among them give the size steps and stand in for missing capacities
    among : kinds of record to rank
    top : how many rows to detail
    units : "si" or "us": the units of every number that has one

    Returns
    -------
    dict
        The keys of `rank` in the JSON contract.
    """
    sizing = size_job(job, library)
    classes = [one for one in tractors if one.kind == "class"]
    wanted = set(among)
    scores = sizing.score([one for one in tractors if one.kind in wanted], classes)
    steps = scores if wanted == {"class"} else sizing.score(classes, classes)
    answer = {
        "schema": SCHEMA,
        "place": _place(job),
        "policy": _policy(job),
        "size": _size(sizing, steps),
        "pick": scores[0].offer.tractor.tractor_id if scores and scores[0].meets and not sizing.not_sized else None,
        "tractors": [_tractor(sizing, one) for one in scores[:top]],
        "ranked": len(scores),
        "steps": _steps(sizing, steps),
        "open": [one.as_dict() for one in open_unknowns(sizing)],
        "not_sized": [{"task": one.task, "why": one.why, "fix": one.fix} for one in sizing.not_sized],
        "work": work(sizing),
        "covered_by_owned": list(sizing.owned),
        "owned": owned(sizing, tractors, units),
        "plans": plans(WhatIf(sizing, scores)) if any(task.planned for task in job.tasks) else None,
        "reconcile": reconcile(job, library),
        "cautions": cautions.cautions(sizing, scores[0] if scores else None, units),
    }
    return in_units(answer, units)


def explain(
    job: JobSheet, library: Library, tractors: Sequence[Tractor], tractor_id: str, *, units: Units = "si"
) -> dict[str, Any]:
    """Explain what each task asks of one tractor, step by step.

    Steps are worked out for the middle case, every uncertain input at its middle, so that each can be redone by hand.

    Raises
    ------
    LookupError
        If there is no such tractor.
    """
    sizing = size_job(job, library)
    middle = size_job(job, library, Draws(n=1), traced=True)
    classes = [one for one in tractors if one.kind == "class"]
    chosen = [one for one in tractors if one.tractor_id == tractor_id]
    if not chosen:
        raise LookupError(tractor_id)
    one = sizing.score(chosen, classes)[0]
    central = middle.score(chosen, classes)[0].offer
    details = sizing.detail(one.offer)
    at_middle = {task.task: task for task in middle.tasks}  # a range can leave a formula where its middle does not
    tasks = [
        _explained(sizing, demand, wide, axis, one.offer, central)
        for spread, detail in zip(sizing.tasks, details, strict=True)
        if (task := at_middle.get(spread.task)) is not None
        for demand, wide, axis in zip(task.demands, spread.demands, detail.axes, strict=True)
    ]
    answer = {
        "schema": SCHEMA,
        "tractor_id": tractor_id,
        "label": chosen[0].label,
        "adequacy": one.adequacy,
        "confidence": sizing.confidence,
        "meets": one.meets,
        "assumed": one.offer.assumed,
        "tasks": tasks,
        "gates": [_gate(gate) | {"task": gate.task} for detail in details for gate in detail.gates],
        "not_sized": [{"task": left.task, "why": left.why, "fix": left.fix} for left in sizing.not_sized],
    }
    return in_units(answer, units)


def _explained(
    sizing: Sizing, demand: Demand, wide: Demand, axis: AxisFit, offered: Offer, central: Offer
) -> dict[str, Any]:
    """Return one demand's steps in the middle case, with its spread and the estimates that stand beside it."""
    low_high = (1 - sizing.confidence, 0.5, sizing.confidence)
    estimates = []
    for made, spread in zip(demand.estimates, wide.estimates, strict=True):
        power = spread.alpha + spread.beta * (offered.mass.draws if offered.mass.draws is not None else 0.0)
        estimates.append(
            {
                "basis": made.basis,
                "unit": demand.unit,
                "governs": made.basis == demand.basis,
                "demand": dict(zip(("low", "median", "high"), (quantile(power, p) for p in low_high), strict=True)),
                "steps": [step.as_dict() for step in made.steps],
            }
        )
    return {
        "task": demand.task,
        "axis": demand.axis,
        "unit": demand.unit,
        "basis": demand.basis,
        "middle": float(fit.asked_of(demand, central)[0]),
        "demand": {"low": axis.low, "median": axis.median, "high": axis.high},
        "capacity": axis.capacity,
        "margin": axis.margin,
        "assumed_from": axis.assumed_from,
        "estimates": estimates,
        "steps": [step.as_dict() for step in (*demand.steps, *fit.last_steps(demand, central))],
        "capacity_steps": [step.as_dict() for step in central.on(demand).steps],
        "notes": list(demand.notes),
    }


def _place(job: JobSheet) -> dict[str, Any]:
    place = job.place
    areas = [use.area_ha.middle for use in place.land]
    known = [area for area in areas if area is not None]
    return {
        "name": place.name,
        "land": [{"use": use.use, "area": use.area_ha.middle, "unit": "ha"} for use in place.land],
        "total": sum(known),
        "unit": "ha",
        "slope": [place.slope.low, place.slope.high],
        "soil": list(place.soil.among),
    }


def _policy(job: JobSheet) -> dict[str, Any]:
    policy = job.policy
    return {
        "confidence": policy.confidence,
        "reserve_power": policy.reserve_power,
        "reserve_lift": policy.reserve_lift,
        "draws": Draws().n,
    }


def _size(sizing: Sizing, steps: Sequence[Score]) -> dict[str, Any] | None:
    """Return the class to buy, what decides it, and what the work asks at the PTO."""
    asked = sizing.power_asked
    best = next((one for one in steps if one.meets), None)
    answer: dict[str, Any] = {"class": None, "decided_by": None, "adequacy": None, "pto_power": None, "unit": "kW"}
    if best is not None:
        tractor = best.offer.tractor
        answer |= {
            "class": tractor.tractor_id,
            "label": tractor.label,
            "adequacy": best.adequacy,
            "pto_power": tractor.pto_power_kw,
            "decided_by": _limit(fit.limiting(sizing.detail(best.offer))),
        }
    if asked is not None:
        task, power = asked
        spread = [quantile(power, p) for p in (1 - sizing.confidence, 0.5, sizing.confidence)]
        answer["asked"] = {
            "task": task,
            "axis": "pto_power",
            "unit": "kW",
            "demand": dict(zip(("low", "median", "high"), spread, strict=True)),
        }
    return answer


def _steps(sizing: Sizing, steps: Sequence[Score]) -> dict[str, Any]:
    """Return the class one size below the best, with what it fails, and the one above, with what it buys."""
    best = next((one for one in steps if one.meets), None)
    by_power = sorted(steps, key=lambda one: (one.offer.tractor.pto_power_kw or 0.0, one.offer.tractor.tractor_id))
    if best is None:
        largest = max(by_power, key=lambda one: (one.adequacy, one.offer.tractor.pto_power_kw or 0.0), default=None)
        return {"below": _step(sizing, largest) if largest else None, "above": None}
    power = best.offer.tractor.pto_power_kw or 0.0
    lower = [one for one in by_power if (one.offer.tractor.pto_power_kw or 0.0) < power * 0.97 and not one.meets]
    higher = [one for one in by_power if (one.offer.tractor.pto_power_kw or 0.0) > power * 1.03 and one.meets]
    return {
        "below": _step(sizing, lower[-1]) if lower else None,
        "above": _step(sizing, higher[0]) if higher else None,
    }


def _step(sizing: Sizing, one: Score) -> dict[str, Any]:
    details = sizing.detail(one.offer)
    return {
        "class": one.offer.tractor.tractor_id,
        "label": one.offer.tractor.label,
        "pto_power": one.offer.tractor.pto_power_kw,
        "unit": "kW",
        "adequacy": one.adequacy,
        "meets": one.meets,
        "fails": _failures(details, sizing.confidence),
        "fixes": [fix.as_dict() for fix in fixes(sizing, one.offer, details)],
        "limiting": _limit(fit.limiting(details)),
    }


def _failures(details: Sequence[TaskFit], confidence: float) -> list[dict[str, Any]]:
    """Return every axis and gate that is not met with the asked confidence, worst first."""
    shut = [gate for task in details for gate in task.gates if not gate.ok]
    short = [axis for task in details for axis in task.axes if axis.adequacy < confidence]
    short.sort(key=lambda axis: (axis.margin is not None, axis.margin or 0.0))
    failed: list[AxisFit | GateFit] = [*shut, *short]
    return [limit for one in failed if (limit := _limit(one)) is not None]


def _tractor(sizing: Sizing, one: Score) -> dict[str, Any]:
    tractor = one.offer.tractor
    details = sizing.detail(one.offer)
    return {
        "tractor_id": tractor.tractor_id,
        "label": tractor.label,
        "kind": tractor.kind,
        "owner": tractor.owner,
        "price": tractor.price,
        "pto_power": tractor.pto_power_kw,
        "unit": "kW",
        "fit": one.fit,
        "adequacy": one.adequacy,
        "thrift": one.thrift,
        "meets": one.meets,
        "limiting": _limit(fit.limiting(details)),
        "fails": _failures(details, sizing.confidence),
        "assumed": one.offer.assumed,
        "fixes": [fix.as_dict() for fix in fixes(sizing, one.offer, details)],
        "tasks": [
            {
                "task": task.task,
                "adequacy": task.adequacy,
                "axes": [_axis(axis) for axis in task.axes],
                "gates": [_gate(gate) for gate in task.gates],
            }
            for task in details
        ],
    }


def _axis(axis: AxisFit) -> dict[str, Any]:
    return {
        "axis": axis.axis,
        "unit": axis.unit,
        "demand": {"low": axis.low, "median": axis.median, "high": axis.high},
        "capacity": axis.capacity,
        "margin": axis.margin,
        "basis": axis.basis,
        "adequacy": axis.adequacy,
        "assumed_from": axis.assumed_from,
    }


def _gate(gate: GateFit) -> dict[str, Any]:
    return {"axis": gate.axis, "asked": gate.asked, "offered": gate.offered, "ok": gate.ok}


def _limit(one: AxisFit | GateFit | None) -> dict[str, Any] | None:
    if one is None:
        return None
    if isinstance(one, GateFit):
        return {"task": one.task, "axis": one.axis, "margin": None, "asked": one.asked, "offered": one.offered}
    return {"task": one.task, "axis": one.axis, "margin": one.margin}
