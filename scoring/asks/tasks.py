"""From tasks to demands: which axes a task asks on, and what it asks there."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from evener.scoring.asks import lifts, oil, power, stance, tow
from evener.scoring.asks.altitude import left_of_power
from evener.scoring.asks.gates import gates_of
from evener.scoring.asks.pull import ON_WHEELS, drawbar_pull
from evener.scoring.core.comparing import holds
from evener.scoring.core.demand import Demand, TaskDemands
from evener.scoring.core.draws import quantiles
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_task
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place import loads, masses
from evener.scoring.place.going import speed_of
from evener.scoring.place.told import part_told

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.estimate import Estimate
    from evener.scoring.core.setting import Setting

SLACK = 1e-3


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
    with setting.unknowns.listening() as drawn:
        empty, full = masses.machine(setting, task), loads.payload(setting, task)
        carried = masses.full(setting, task, setting.trace())
    told = part_told(setting, drawn, carried)
    speed = speed_of(setting, task)
    pulled = drawbar_pull(setting, task, speed, carried) if speed is not None else None
    flow = oil.flow_asked(setting, task)
    asked: list[Demand | None] = []
    if setting.family(task).power != "loader":
        asked.append(pto_power(setting, task, carried, flow))
    asked.append(pulled)
    if attachment == "mounted":
        reach = lifts.reach_behind(setting, task)
        asked += [lifts.rear_lift(setting, task), stance.raised(setting, task, carried, reach, told=told, rear=True)]
    elif attachment == "front_mounted":
        reach = lifts.reach_behind(setting, task)
        asked.append(stance.raised(setting, task, carried, reach, told=told, rear=False))
    elif attachment == "loader":
        asked += lifts.loader(setting, task)
    elif attachment in ON_WHEELS:
        asked.append(tow.tow_mass(setting, task, speed, empty, full))
        asked.append(stance.on_the_drawbar(setting, task, carried, told=told))
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


def pto_power(setting: Setting, task: Task, carried: Array, flow: Demand | None) -> Demand | None:
    """Return the PTO power asked [kW]: by the machine's rating, else by published draft, shaft power, rolling and oil.

    It is for sea level, and is raised by what the place's height takes. None where no estimate applies, as for a tool
    that is carried and stands still.

    Parameters
    ----------
    setting, task : the job and the task
    carried : machine with its load [kg]
    flow : the oil it asks
    """
    leads = power.on_rating(setting, task, carried)
    if leads is not None:
        others = [power.beside_rating(setting, task, carried, flow)]
    else:
        leads, others = power.computed(setting, task, carried, flow), []
    if leads is None:
        return None
    estimates = _at_height(setting, [leads, *(one for one in others if one is not None)])
    governs = estimates[0]
    floor, least = power.floor_of(setting, task, governs)
    return Demand(
        task.name,
        "pto_power",
        governs.alpha,
        governs.beta,
        "mass_kg",
        governs.basis,
        governs.steps,
        estimates=tuple(estimates),
        notes=(*governs.notes, *_apart(setting, estimates)),
        floor=floor,
        least_pace=least,
    )


def _at_height(setting: Setting, estimates: list[Estimate]) -> list[Estimate]:
    """Return the estimates raised to the rating, at sea level, that leaves them at the place."""
    found = []
    for estimate in estimates:
        trace = setting.trace()
        trace.follow(estimate.steps)
        left = left_of_power(setting, trace)
        if left is None:
            return estimates
        found.append(power.raised(estimate, left, trace))
    return found


def _apart(setting: Setting, estimates: list[Estimate]) -> tuple[str, ...]:
    """Say where two estimates lie further apart than their spreads."""
    spans = [(each.basis, quantiles(power.of_guide_mass(setting, each), 0.025, 0.975)) for each in estimates]
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
