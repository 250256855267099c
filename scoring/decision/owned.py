"""Machines already owned: whether each takes the tasks it is said to take, as far as its numbers go."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations.margins import detail
from evener.scoring.core.printing import Units, show
from evener.scoring.core.setting import CannotSize
from evener.scoring.gives.offer import offer

if TYPE_CHECKING:
    from evener.schema.records import OwnedMachine, Task, Tractor
    from evener.scoring.combinations.margins import AxisFit, GateFit
    from evener.scoring.decision.sizing import Sizing

NO_HITCH = "none"
OFFERS = {
    "pto_power": "has {has} at the PTO; {task} asks {asks}",
    "rear_lift": "lifts {has} at the rear; {task} asks {asks}",
    "loader_lift": "lifts {has} with its loader at full height; {task} asks {asks}",
    "loader_height": "lifts its loader to {has}; {task} asks {asks}",
    "front_axle": "keeps too little weight on its front wheels with the machine of {task} raised",
    "rear_axle": "keeps too little weight on its rear wheels with the machine of {task} raised",
}
UNSTATED = {
    "pto_power": "its power at the PTO is not stated",
    "rear_lift": "the lift of its hitch is not stated",
    "loader_lift": "no loader is stated",
    "loader_height": "no loader is stated",
}


def owned(sizing: Sizing, tractors: Sequence[Tractor], units: Units = "si") -> list[dict[str, Any]]:
    """Check every task that an owned machine is said to take.

    Parameters
    ----------
    sizing : the job as it stands
    tractors : all tractor records: those machines are named by, and the classes that stand in for what is not stated
    units : units of the numbers in the words

    Returns
    -------
    list of dict
        `machine`, `task`, `verdict` (met, short, not shown, not checked, not counted) and `why` in words.
    """
    classes = [one for one in tractors if one.kind == "class"]
    tasks = {task.name: task for task in sizing.setting.job.tasks}
    return [
        {"machine": machine.label, "task": name, **_claim(sizing, machine, tasks[name], tractors, classes, units)}
        for machine in sizing.setting.job.machines
        for name in machine.takes
        if name in tasks
    ]


def _claim(
    sizing: Sizing,
    machine: OwnedMachine,
    task: Task,
    tractors: Sequence[Tractor],
    classes: Sequence[Tractor],
    units: Units,
) -> dict[str, Any]:
    if machine.needs_tractor:
        return _verdict(
            "not counted", f"it is an implement: a tractor has to work it, so {task.name} stays on the list"
        )
    record = machine.tractor or next((one for one in tractors if one.tractor_id == machine.tractor_id), None)
    if record is None:
        return _verdict("not checked", "nothing is known of it: say its power, its lift, or its tractor record")
    attachment = sizing.setting.attachment(task)
    if record.hitch_category == NO_HITCH and attachment in {"mounted", "semi_mounted"}:
        return _verdict("short", f"it has no three-point hitch for {task.name}")
    try:
        asked = demands_of(sizing.setting, task)
    except CannotSize as reason:
        return _verdict("not checked", f"{reason.why}. {reason.remedy}")
    has = offer(record, classes, sizing.setting.draws)
    found = detail([asked], has, sizing.confidence)[0]
    shut = [_gate(gate) for gate in found.gates if not gate.ok and gate.offered != "not stated"]
    short = [_axis(axis, units) for axis in found.axes if axis.margin is not None and axis.short]
    unknown = [UNSTATED.get(axis.axis, f"its {axis.axis.replace('_', ' ')} is not stated") for axis in found.axes]
    unknown = [words for words, axis in zip(unknown, found.axes, strict=True) if axis.margin is None]
    unknown += [f"its {gate.axis.replace('_', ' ')} is not stated" for gate in found.gates if _silent(gate)]
    if shut or short:
        return _verdict("short", "; ".join([*shut, *short]))
    if unknown:
        return _verdict("not shown", "; ".join(dict.fromkeys(unknown)))
    assumed = [axis.axis.replace("_", " ") for axis in found.axes if axis.assumed_from]
    note = (
        f"its {' and '.join(assumed)} not on its record: a like tractor's is taken"
        if assumed
        else "its numbers are enough"
    )
    return _verdict("met", note)


def _verdict(verdict: str, why: str) -> dict[str, Any]:
    return {"verdict": verdict, "why": why}


def _silent(gate: GateFit) -> bool:
    return not gate.ok and gate.offered == "not stated"


def _gate(gate: GateFit) -> str:
    return f"it has {gate.offered}; {gate.task} asks {gate.asked}"


def _axis(axis: AxisFit, units: Units) -> str:
    said = OFFERS.get(axis.axis, "has {has} of " + axis.axis.replace("_", " ") + "; {task} asks {asks}")
    assumed = " (assumed)" if axis.assumed_from else ""
    has = "nothing" if axis.capacity is None else show(axis.capacity, axis.unit, units) + assumed
    return "it " + said.format(has=has, task=axis.task, asks=show(axis.high, axis.unit, units))
