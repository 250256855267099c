"""From tasks to demands: which axes a task asks on, and what it asks there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring import lifts, loads, power
from evener.scoring.demand import Demand, TaskDemands
from evener.scoring.draws import quantile
from evener.scoring.gates import gates_of
from evener.scoring.setting import CannotSize
from evener.scoring.sizes import Size, size, slope

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.draws import Array
    from evener.scoring.power import Estimate
    from evener.scoring.setting import Setting

GUIDE_ROW = {"item": "total mass guide", "drive_or_job": "MFWD"}
TOLERANCE = 1e-3
SIZED_POWER = {"pto", "ground", "carried", "loader"}
WATCHED = (
    "working_width_m",
    "max_stem_m",
    "bale_width_m",
    "bale_diameter_m",
    "bale_height_m",
    "tank_l",
    "payload_kg",
    "auger_diameter_m",
    "stack_high",
    "lift_height_m",
    "volume_m3",
    "throughput_t_h",
    "yield_t_ha",
)


def demands_of(setting: Setting, task: Task) -> TaskDemands:
    """Return everything a task asks of a tractor.

    Raises
    ------
    CannotSize
        If something it cannot be sized without is not known, or its family has no demand model.
    """
    family = setting.family(task)
    if family.power not in SIZED_POWER:
        raise CannotSize(
            task.name, f"the pull of a {family.label.lower()} is not worked out", "Size it by its own handbook"
        )
    attachment = setting.attachment(task)
    demands: list[Demand] = []
    if family.power != "loader" and (asked := pto_power(setting, task)) is not None:
        demands.append(asked)
    if attachment == "mounted":
        demands.append(lifts.rear_lift(setting, task))
    elif attachment == "loader":
        demands.extend(lifts.loader(setting, task))
    record = setting.record(task)
    return TaskDemands(
        task=task.name,
        chance=task.chance if task.planned else 1.0,
        demands=tuple(demands),
        gates=gates_of(setting, task),
        sizes=_open_sizes(setting, task, demands),
        cautions=_cautions(setting, task),
        trade_kw=record.rated_tractor_power_kw if record else None,
    )


def pto_power(setting: Setting, task: Task) -> Demand | None:
    """Return the PTO power asked [kW]: the record's rating, else the fitted one; the computed one where it is higher.

    None where no estimate applies, as for a tool that is carried and stands still.
    """
    carried = loads.machine(setting, task).mass_kg
    load = loads.payload(setting, task)
    carried = carried + (load.mass_kg if load else 0.0)
    made = [
        estimate
        for estimate in (
            power.rated(setting, task, carried),
            power.fitted(setting, task, carried),
            power.computed(setting, task, carried),
        )
        if estimate is not None
    ]
    if not made:
        return None
    leading = made[0]
    governs = leading
    last = made[-1]
    if last.basis == "computed" and _middle(setting, last) > _middle(setting, leading):
        governs = last
    return Demand(
        task.name,
        "pto_power",
        governs.alpha,
        governs.beta,
        "mass_kg",
        governs.basis,
        governs.steps,
        estimates=tuple(made),
        notes=(*governs.notes, *_apart(setting, made)),
    )


def of_guide_mass(setting: Setting, demand: Demand | Estimate) -> Array:
    """Return PTO power [kW] asked of a tractor of the published mass per PTO kW, without naming a tractor.

    With m = g P and P = alpha + beta m, P = alpha / (1 - beta g).
    """
    guide = float(setting.library.row("ballast", **GUIDE_ROW)["mass_per_power_kg_per_kw"])
    return demand.alpha / np.maximum(1 - demand.beta * guide, 0.05)


def _middle(setting: Setting, estimate: Estimate) -> float:
    return quantile(of_guide_mass(setting, estimate), 0.5)


def _apart(setting: Setting, made: list[Estimate]) -> tuple[str, ...]:
    """Say where two estimates lie further apart than their spreads."""
    spans = []
    for made_one in made:
        asked = of_guide_mass(setting, made_one)
        spans.append((made_one.basis, quantile(asked, 0.025), quantile(asked, 0.975)))
    notes = []
    for i, (one, low, high) in enumerate(spans):
        for other, other_low, other_high in spans[i + 1 :]:
            if other_high < low or high < other_low:
                where = "below" if other_high < low else "above"
                notes.append(f"the {other} power lies {where} the {one} one by more than their spreads")
    return tuple(notes)


def _open_sizes(setting: Setting, task: Task, demands: list[Demand]) -> tuple[Size, ...]:
    """Return the sizes behind these demands that the customer could still settle."""
    used = {name for demand in demands for name in _used(demand)}
    found = []
    for name in WATCHED:
        if name not in used and getattr(task, name, None) is None:
            continue
        one = size(setting, task, name)
        if one is not None and one.open:
            found.append(one)
    if any(demand.axis == "pto_power" for demand in demands):
        steep = slope(setting, task)
        if steep.open:
            found.append(steep)
    return tuple(found)


def _used(demand: Demand) -> set[str]:
    return {name for step in demand.steps for name in step.inputs}


def _cautions(setting: Setting, task: Task) -> tuple[str, ...]:
    record = setting.record(task)
    if record is None or record.max_stem_m is None or task.stem_m is None or task.stem_m.high is None:
        return ()
    if task.stem_m.high <= record.max_stem_m * (1 + TOLERANCE):
        return ()
    return (f"{task.name}: stems ({task.stem_m.text}) go beyond what {record.label} is built for.",)
