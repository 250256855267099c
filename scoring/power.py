"""PTO power a task asks, by three estimates that stand side by side: rated, fitted, computed.

A demand is `alpha + beta * tractor_mass` [kW]: beta is what the tractor's own mass costs on slopes and soft ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring import ratings
from evener.scoring.going import by_choice, going, speed_of
from evener.scoring.shaft import THROWN_SNOW, shaft_power
from evener.scoring.sizes import Size, key, size, unit_of
from evener.scoring.steps import Step, step

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.draws import Array
    from evener.scoring.setting import Setting


@dataclass(frozen=True)
class Estimate:
    """One estimate of the PTO power a task asks, alpha + beta * tractor mass.

    Attributes
    ----------
    basis : rated, fitted or computed
    alpha : draws [kW]
    beta : draws [kW/kg]
    steps : how it came about, in the middle case
    notes : what a reader should know of it
    """

    basis: str
    alpha: Array
    beta: Array
    steps: tuple[Step, ...]
    notes: tuple[str, ...] = ()


def allowances(setting: Setting, task: Task) -> tuple[Array, list[Step]]:
    """Return the factor growth and pace put on a rating [1], with its steps."""
    factor = np.ones(setting.draws.n)
    steps = []
    group = setting.family(task).group
    for name, choice in (("growth", task.growth), ("pace", task.pace)):
        arrays = {}
        for level in choice.among:
            row = setting.library.allowance(name, level)
            applies = row["applies_to"] is None or group in row["applies_to"].split(";")
            arrays[level] = setting.allowance(name, level) if applies else np.ones(setting.draws.n)
        drawn = by_choice(setting, key(task, name), choice.among, arrays)
        factor = factor * drawn
        if np.any(drawn != 1.0):
            words = " or ".join(choice.among)
            steps.append(step(f"factor for {words} {name}", {}, (drawn, "1"), source="PRACTICE", status="practice"))
    return factor, steps


def on_rating(
    setting: Setting, task: Task, base: Array, basis: str, steps: list[Step], carried_kg: Array, notes: tuple[str, ...]
) -> Estimate:
    """Raise a rating [kW] for growth, pace, the policy's reserve and the hills."""
    factor, more = allowances(setting, task)
    usual = setting.library.allowance("rating_reserve")["low"]
    asked = setting.job.policy.reserve_power
    held = (1 - usual) / (1 - asked)
    alpha = base * factor * held
    steps = [*steps, *more]
    if held != 1.0:
        inputs = {"reserve in ratings": (usual, "1"), "reserve asked": (asked, "1")}
        steps.append(
            step(
                "factor for the reserve = (1 - usual) / (1 - asked)",
                inputs,
                (held, "1"),
                source="PRACTICE",
                status="practice",
            )
        )
    steps.append(
        step(
            "rating x growth x pace x reserve",
            {"rating": (base, "kW"), "growth x pace": (factor, "1"), "reserve": (held, "1")},
            (alpha, "kW"),
            source="PRACTICE",
            status="practice",
        )
    )
    beta = np.zeros(setting.draws.n)
    speed = speed_of(setting, task)
    if speed is not None:
        ground = going(setting, task, speed)
        if np.any(ground.hill > 0):
            alpha = alpha + ground.hill * carried_kg
            beta = ground.hill
            steps.append(ground.steps[0])
            inputs = {"machine": (carried_kg, "kg"), "grade power per kg": (ground.hill, "kW/kg")}
            steps.append(
                step(
                    "with the machine uphill, tractor's mass still to add",
                    inputs,
                    (alpha, "kW"),
                    source="UAZ",
                    status="published",
                )
            )
    return Estimate(basis, alpha, beta, tuple(steps), notes)


def rated(setting: Setting, task: Task, carried_kg: Array) -> Estimate | None:
    """Estimate from the record's own rating; None without one."""
    record = setting.record(task)
    if record is None or record.rated_pto_power_kw is None:
        return None
    base = np.full(setting.draws.n, record.rated_pto_power_kw)
    first = step(
        f"least PTO power its record gives for {record.label}",
        {},
        (base, "kW"),
        source=record.source_id,
        status=record.status,
    )
    return on_rating(setting, task, base, "rated", [first], carried_kg, ())


def fitted(setting: Setting, task: Task, carried_kg: Array) -> Estimate | None:
    """Estimate from the regression of rated PTO power on size over the family's records; None without one."""
    fit = setting.library.fits.get(task.family)
    if fit is None:
        return None
    sizes = [variable(setting, task, name) for name in fit.variables]
    if any(found is None for found in sizes):
        return None
    known = [found for found in sizes if found is not None]
    z = setting.draws.normal(key(task, "fitted"))
    xs = [found.values for found in known]
    base = ratings.predict(fit, xs[0], xs[1] if len(xs) > 1 else None, z)
    notes = tuple(
        f"{name.rsplit('_', 1)[0].replace('_', ' ')} lies outside the family's {fit.n} records: the fit is stretched"
        for name, found, low, high in zip(fit.variables, known, fit.lows, fit.highs, strict=True)
        if found.low < low * 0.999 or found.high > high * 1.001
    )
    terms = " ".join(f"+ {b:.4f} ln({name})" for b, name in zip(fit.coefficients[1:], fit.variables, strict=True))
    first = step(
        f"ln P = {fit.coefficients[0]:.4f} {terms}, over {fit.n} records, spread {fit.spread:.3f} of ln P",
        {name: (found.values, unit_of(name)) for name, found in zip(fit.variables, known, strict=True)},
        (base, "kW"),
        source="PRACTICE",
        status="practice",
    )
    return on_rating(setting, task, base, "fitted", [first], carried_kg, notes)


def computed(setting: Setting, task: Task, carried_kg: Array) -> Estimate | None:
    """Estimate from the published average shaft power, peaks, going and the policy's reserve; None without a model.

    A snow blower is driven as slowly as its power asks, so it is computed only where the sheet says depth and speed.
    """
    family = setting.family(task)
    speed = speed_of(setting, task)
    if speed is None or (family.rotary_row is None and family.power == "pto"):
        return None
    if family.rotary_row == THROWN_SNOW and (task.speed_km_h is None or task.snow_depth_m is None):
        return None
    ground = going(setting, task, speed)
    shaft, steps = shaft_power(setting, task, speed) if family.rotary_row else (np.zeros(setting.draws.n), [])
    on_wheels = setting.attachment(task) == "trailed"
    moving = (ground.roll * carried_kg) if on_wheels else ground.own * carried_kg
    held = 1 - setting.job.policy.reserve_power
    alpha = (shaft + moving + ground.hill * carried_kg) / held
    beta = (ground.own + ground.hill) / held
    steps += [
        *ground.steps,
        step(
            "P = (shaft + rolling + grade) / (1 - reserve), tractor's mass still to add",
            {
                "shaft": (shaft, "kW"),
                "machine": (carried_kg, "kg"),
                "rolling": (moving, "kW"),
                "grade": (ground.hill * carried_kg, "kW"),
                "reserve": (setting.job.policy.reserve_power, "1"),
            },
            (alpha, "kW"),
            source="EP496",
            status="memory",
        ),
    ]
    return Estimate("computed", alpha, beta, tuple(steps))


def variable(setting: Setting, task: Task, name: str) -> Size | None:
    """Return a size a fit rests on, derived from others where it has to be."""
    parts = {
        "bale_volume_m3": ("bale_width_m", "bale_diameter_m"),
        "bale_section_m2": ("bale_height_m", "bale_width_m"),
    }
    if name not in parts:
        return size(setting, task, name)
    first, second = (size(setting, task, part) for part in parts[name])
    if first is None or second is None:
        return None
    derive = ratings.bale_volume_m3 if name == "bale_volume_m3" else ratings.bale_section_m2
    return Size(
        name,
        np.asarray(derive(first.values, second.values)),
        float(derive(first.low, second.low)),
        float(derive(first.high, second.high)),
        f"{first.text}; {second.text}" if first.text != second.text else first.text,
        first.source,
        first.status,
        open=first.open or second.open,
    )
