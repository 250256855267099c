"""PTO power a task asks, by three estimates that stand side by side: rated, fitted, computed.

A demand is `alpha + beta * tractor_mass` [kW]: beta is what the tractor's own mass costs on slopes and soft ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.oil import oil_power
from evener.scoring.asks.pull import traction_power
from evener.scoring.asks.shaft import THROWN_SNOW, generator, shaft_power
from evener.scoring.core.trace import Step, applied, step
from evener.scoring.mechanics.engine import drawbar
from evener.scoring.place.going import going, speed_of
from evener.scoring.place.ground import by_choice
from evener.scoring.place.loads import sized_by
from evener.scoring.place.sizes import Size, key, unit_of
from evener.scoring.ratings import model as ratings

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting


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
                    method="power_flow.pto_from_drawbar",
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
    sizes = [sized_by(setting, task, name) for name in fit.variables]
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


def computed(
    setting: Setting, task: Task, carried_kg: Array, pulled: Demand | None = None, flow: Demand | None = None
) -> Estimate | None:
    """Estimate from published shaft power with its peaks, pull, going, oil and the reserve; None without a model.

    A snow blower is driven as slowly as its power asks, so it is computed only where the sheet says depth and speed.

    Parameters
    ----------
    setting, task : the job and the task
    carried_kg : machine with its load [kg]
    pulled : the drawbar pull it asks, where it pulls a tool
    flow : the oil it asks
    """
    family = setting.family(task)
    speed = speed_of(setting, task)
    at_rest = generator(setting, task)
    if at_rest is not None:
        return Estimate("computed", at_rest[0], np.zeros(setting.draws.n), tuple(at_rest[1]))
    if family.rotary_row == THROWN_SNOW and (task.speed_km_h is None or task.snow_depth_m is None):
        return None
    shaft = np.zeros(setting.draws.n)
    steps: list[Step] = []
    if family.rotary_row and family.power != "ground" and speed is not None:
        shaft, steps = shaft_power(setting, task, speed)
    oil, oil_steps = oil_power(setting, task, flow)
    steps += oil_steps
    if speed is None:
        return _standing(setting, oil, steps) if oil_steps else None
    if family.power == "pto" and family.rotary_row is None:
        return None
    if pulled is not None and family.power in {"draft", "ground"}:
        alpha, beta, more = traction_power(setting, task, pulled, speed)
    else:
        alpha, beta, more = _moving(setting, task, carried_kg, speed)
    return _with_reserve(setting, shaft + oil + alpha, beta, [*steps, *more])


def _moving(setting: Setting, task: Task, carried_kg: Array, speed: Size) -> tuple[Array, Array, list[Step]]:
    """Return the power of rolling and grade of machine and load [kW], and per kg of tractor [kW/kg]."""
    ground = going(setting, task, speed)
    moving = (ground.roll if setting.attachment(task) == "trailed" else ground.own) * carried_kg
    uphill = ground.hill * carried_kg
    inputs: dict[str, tuple[Array | float | str, str]] = {
        "machine": (carried_kg, "kg"),
        "rolling": (moving, "kW"),
        "grade": (uphill, "kW"),
    }
    written = step("rolling + grade of the machine", inputs, (moving + uphill, "kW"), source="EP496", status="memory")
    return moving + uphill, ground.own + ground.hill, [*ground.steps, written]


def _standing(setting: Setting, alpha: Array, steps: list[Step]) -> Estimate:
    return _with_reserve(setting, alpha, np.zeros(setting.draws.n), steps)


def _with_reserve(setting: Setting, alpha: Array, beta: Array, steps: list[Step]) -> Estimate:
    """Return the rated power that keeps the policy's reserve in hand."""
    load = 1 - setting.job.policy.reserve_power
    rated_for = np.asarray(drawbar.rated_power_needed(alpha, X=load))
    written = applied(
        "drawbar.rated_power_needed",
        {"P_T": (alpha, "kW"), "X": (load, "1")},
        (rated_for, "kW"),
        what="shaft, oil and traction with the policy's reserve, tractor's mass still to add",
    )
    return Estimate("computed", rated_for, beta / load, (*steps, written))
