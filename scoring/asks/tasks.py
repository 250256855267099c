"""From tasks to demands: which axes a task asks on, and what it asks there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks import lifts, oil, power, stance, tow
from evener.scoring.asks.altitude import left_of_power
from evener.scoring.asks.gates import gates_of
from evener.scoring.asks.pull import ON_WHEELS, drawbar_pull
from evener.scoring.core.demand import Demand, TaskDemands
from evener.scoring.core.draws import quantile
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.trace import step
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place import loads
from evener.scoring.place.going import speed_of
from evener.scoring.place.sizes import Size, slope

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.asks.power import Estimate
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting

PLACE = "the place"
GUIDE_ROW = {"item": "total mass guide", "drive_or_job": "MFWD"}
TOLERANCE = 1e-3
WATCHED = (
    "working_width_m",
    "depth_m",
    "tool_spacing_m",
    "snow_depth_m",
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
    "electric_power_kw",
)
DRAFT_BAND = (0.5, 2.0)


def demands_of(setting: Setting, task: Task) -> TaskDemands:
    """Return everything a task asks of a tractor.

    Raises
    ------
    CannotSize
        If something it cannot be sized without is not known, or lies outside the range of a formula.
    """
    try:
        return _worked_out(setting, task)
    except OutOfRange as reason:
        raise CannotSize(task.name, f"a number lies outside its formula ({reason})", "Check it and its unit") from None


def _worked_out(setting: Setting, task: Task) -> TaskDemands:
    attachment = setting.attachment(task)
    empty, full = loads.machine(setting, task), loads.payload(setting, task)
    carried = empty.mass_kg + (full.mass_kg if full else 0.0)
    speed = speed_of(setting, task)
    pulled = drawbar_pull(setting, task, speed, carried) if speed is not None else None
    flow = oil.flow_asked(setting, task)
    found: list[Demand | None] = []
    if setting.family(task).power != "loader":
        found.append(pto_power(setting, task, carried, pulled, flow))
    found.append(pulled)
    if attachment == "mounted":
        found += [
            lifts.rear_lift(setting, task),
            stance.raised(setting, task, carried, lifts.reach_behind(setting, task), rear=True),
        ]
    elif attachment == "front_mounted":
        found.append(stance.raised(setting, task, carried, lifts.reach_behind(setting, task), rear=False))
    elif attachment == "loader":
        found += lifts.loader(setting, task)
    elif attachment in ON_WHEELS:
        found.append(tow.tow_mass(setting, task, speed, empty, full))
    found.append(flow)
    demands = [one for one in found if one is not None]
    record = setting.record(task)
    return TaskDemands(
        task=task.name,
        chance=task.chance if task.planned else 1.0,
        demands=tuple(demands),
        gates=gates_of(setting, task),
        sizes=_open_sizes(setting, task, demands),
        cautions=_cautions(setting, task),
        trade_kw=record.rated_tractor_power_kw if record else None,
        open_words=_open_words(setting, task, demands),
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
    made = [one for one in (power.rated(setting, task, carried), power.fitted(setting, task, carried)) if one]
    try:
        last = power.computed(setting, task, carried, pulled, flow)
    except CannotSize:
        if not made:
            raise
        last = None
    made += [last] if last is not None else []
    if not made:
        return None
    made = _at_height(setting, made)
    governs = made[0]
    if made[-1].basis == "computed" and _middle(setting, made[-1]) > _middle(setting, made[0]):
        governs = made[-1]
    return Demand(
        task.name,
        "pto_power",
        governs.alpha,
        governs.beta,
        "mass_kg",
        governs.basis,
        governs.steps,
        estimates=tuple(made),
        notes=(*governs.notes, *_apart(setting, made), *_against_trade(setting, task, made)),
    )


def _at_height(setting: Setting, made: list[Estimate]) -> list[Estimate]:
    """Return the estimates raised to the rating, at sea level, that leaves them at the place."""
    left, written = left_of_power(setting)
    if not written:
        return made
    return [
        replace(
            one,
            alpha=one.alpha / left,
            beta=one.beta / left,
            steps=(
                *one.steps,
                *written,
                step(
                    "rating at sea level = power asked / share left",
                    {"power asked": (one.alpha, "kW"), "share left": (left, "1")},
                    (one.alpha / left, "kW"),
                    source="ZA-GUIDE",
                    status="practice",
                ),
            ),
        )
        for one in made
    ]


def _against_trade(setting: Setting, task: Task, made: list[Estimate]) -> tuple[str, ...]:
    """Say where the computed power is far from the tractor the trade puts before a tool; the two are never pooled."""
    record = setting.record(task)
    trade = record.rated_tractor_power_kw if record is not None else None
    if trade is None or [one.basis for one in made] != ["computed"]:
        return ()
    ratio = _middle(setting, made[0]) / trade
    if DRAFT_BAND[0] <= ratio <= DRAFT_BAND[1]:
        return ()
    where = "below" if ratio < 1 else "above"
    return (f"the computed power lies far {where} the tractor the trade puts to it ({ratio:.1f} times)",)


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
        one = loads.sized_by(setting, task, name)
        if one is not None and one.open:
            found.append(one)
    if any(demand.axis in {"pto_power", "drawbar_pull"} for demand in demands):
        steep = slope(setting, task)
        if steep.open:
            found.append(steep)
    return tuple(found)


def _open_words(setting: Setting, task: Task, demands: list[Demand]) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """Return the texture of the place and the brakes of the machine where they are open and count."""
    found = []
    texture = setting.job.place.texture
    if texture.settled is None and any("F_i" in _used(demand) for demand in demands):
        found.append((PLACE, "texture", texture.among))
    brakes = tow.brakes_of(setting, task)
    if len(brakes) > 1 and any(demand.axis == "tow_mass" for demand in demands):
        found.append((task.name, "brakes", brakes))
    if task.soil is not None and task.soil.settled is None:
        found.append((task.name, "soil", task.soil.among))
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
