"""From tasks to demands: which axes a task asks on, and what it asks there."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks import lifts, oil, power, stance, tow
from evener.scoring.asks.altitude import left_of_power
from evener.scoring.asks.gates import gates_of
from evener.scoring.asks.pull import ON_WHEELS, drawbar_pull
from evener.scoring.core.comparing import holds
from evener.scoring.core.demand import Demand, TaskDemands
from evener.scoring.core.draws import quantile, quantiles
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_task
from evener.scoring.mechanics.engine import rating
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place import loads
from evener.scoring.place.going import speed_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.asks.power import Estimate
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting

GUIDE_ROW = {"item": "total mass guide", "drive_or_job": "MFWD"}
SLACK = 1e-3
DRAFT_BAND = (0.5, 2.0)


def demands_of(setting: Setting, task: Task) -> TaskDemands:
    """Return everything a task asks of a tractor, and enter what it rests on in the setting's register.

    Raises
    ------
    CannotSize
        If something it cannot be sized without is not known, or lies outside the range of a formula.
    """
    try:
        with setting.unknowns.sizing(task.name):
            return _worked_out(setting, task)
    except OutOfRange as reason:
        raise CannotSize(task.name, f"a number lies outside its formula ({reason})", "Check it and its unit") from None


def _worked_out(setting: Setting, task: Task) -> TaskDemands:
    attachment = setting.attachment(task)
    empty, full = loads.machine(setting, task), loads.payload(setting, task)
    carried = loads.full(setting, task, setting.trace())
    speed = speed_of(setting, task)
    pulled = drawbar_pull(setting, task, speed, carried) if speed is not None else None
    flow = oil.flow_asked(setting, task)
    asked: list[Demand | None] = []
    if setting.family(task).power != "loader":
        asked.append(pto_power(setting, task, carried, pulled, flow))
    asked.append(pulled)
    if attachment == "mounted":
        reach = lifts.reach_behind(setting, task)
        asked += [lifts.rear_lift(setting, task), stance.raised(setting, task, carried, reach, rear=True)]
    elif attachment == "front_mounted":
        asked.append(stance.raised(setting, task, carried, lifts.reach_behind(setting, task), rear=False))
    elif attachment == "loader":
        asked += lifts.loader(setting, task)
    elif attachment in ON_WHEELS:
        asked.append(tow.tow_mass(setting, task, speed, empty, full))
    asked.append(flow)
    if task.planned:
        setting.unknowns.happens(of_task(task.name, "happens", asks="plan"), task.chance)
    record = setting.record(task)
    return TaskDemands(
        task=task.name,
        chance=task.chance if task.planned else 1.0,
        demands=tuple(demand for demand in asked if demand is not None),
        gates=gates_of(setting, task),
        cautions=_cautions(setting, task),
        trade_kw=record.rated_tractor_power_kw if record else None,
    )


def pto_power(
    setting: Setting, task: Task, carried: Array, pulled: Demand | None, flow: Demand | None
) -> Demand | None:
    """Return the PTO power asked [kW]: the record's rating, else the fitted one; the computed one where it is higher.

    All are for sea level, and are raised by what the place's height takes. None where no estimate applies, as for a
    tool that is carried and stands still.

    Parameters
    ----------
    setting, task : the job and the task
    carried : machine with its load [kg]
    pulled, flow : the pull and the oil it asks
    """
    estimates = [each for each in (power.rated(setting, task, carried), power.fitted(setting, task, carried)) if each]
    try:
        last = power.computed(setting, task, carried, pulled, flow)
    except CannotSize:
        if not estimates:
            raise
        last = None
    estimates += [last] if last is not None else []
    if not estimates:
        return None
    estimates = _at_height(setting, estimates)
    governs = estimates[0]
    if estimates[-1].basis == "computed" and _middle(setting, estimates[-1]) > _middle(setting, governs):
        governs = estimates[-1]
    return Demand(
        task.name,
        "pto_power",
        governs.alpha,
        governs.beta,
        "mass_kg",
        governs.basis,
        governs.steps,
        estimates=tuple(estimates),
        notes=(*governs.notes, *_apart(setting, estimates), *_against_trade(setting, task, estimates)),
    )


def _at_height(setting: Setting, estimates: list[Estimate]) -> list[Estimate]:
    """Return the estimates raised to the rating, at sea level, that leaves them at the place."""
    raised = []
    for estimate in estimates:
        trace = setting.trace()
        trace.follow(estimate.steps)
        left = left_of_power(setting, trace)
        if left is None:
            return estimates
        alpha = np.asarray(trace.call(rating.sea_level_rating)(estimate.alpha, share=left))
        beta = np.asarray(rating.sea_level_rating(estimate.beta, share=left))
        raised.append(replace(estimate, alpha=alpha, beta=beta, steps=trace.steps))
    return raised


def _against_trade(setting: Setting, task: Task, estimates: list[Estimate]) -> tuple[str, ...]:
    """Say where the computed power is far from the tractor the trade puts before a tool; the two are never pooled."""
    record = setting.record(task)
    trade = record.rated_tractor_power_kw if record is not None else None
    if trade is None or [each.basis for each in estimates] != ["computed"]:
        return ()
    ratio = float(rating.times(_middle(setting, estimates[0]), P_ref=trade))
    if DRAFT_BAND[0] <= ratio <= DRAFT_BAND[1]:
        return ()
    where = "below" if ratio < 1 else "above"
    return (f"the computed power lies far {where} the tractor the trade puts to it ({ratio:.1f} times)",)


def of_guide_mass(setting: Setting, demand: Demand | Estimate) -> Array:
    """Return PTO power [kW] asked of a tractor of the published mass per PTO kW, without naming a tractor."""
    guide = float(setting.library.row("ballast", **GUIDE_ROW)["mass_per_power_kg_per_kw"])
    return np.asarray(rating.power_at_mass_ratio(demand.alpha, b=demand.beta, g=guide))


def _middle(setting: Setting, estimate: Estimate) -> float:
    return quantile(of_guide_mass(setting, estimate), 0.5)


def _apart(setting: Setting, estimates: list[Estimate]) -> tuple[str, ...]:
    """Say where two estimates lie further apart than their spreads."""
    spans = [(each.basis, quantiles(of_guide_mass(setting, each), 0.025, 0.975)) for each in estimates]
    notes = []
    for (basis, (low, high)), (other, (other_low, other_high)) in combinations(spans, 2):
        if other_high < low or high < other_low:
            where = "below" if other_high < low else "above"
            notes.append(f"the {other} power lies {where} the {basis} one by more than their spreads")
    return tuple(notes)


def _cautions(setting: Setting, task: Task) -> tuple[str, ...]:
    record = setting.record(task)
    if record is None or record.max_stem_m is None or task.stem_m is None or task.stem_m.high is None:
        return ()
    if holds(0.0, record.max_stem_m, task.stem_m.high, task.stem_m.high, SLACK):
        return ()
    return (f"{task.name}: stems ({task.stem_m.text}) go beyond what {record.label} is built for.",)
