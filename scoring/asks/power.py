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
from evener.scoring.core.comparing import holds
from evener.scoring.core.unknowns import of_task
from evener.scoring.mechanics.engine import drawbar, moving, rating
from evener.scoring.place.going import going, speed_of
from evener.scoring.place.ground import by_choice
from evener.scoring.place.loads import sized_by
from evener.scoring.place.sizes import need, unit_of
from evener.scoring.ratings import model as ratings

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Step, Trace

RATING = "rated_pto_power_kw"
SLACK = 0.001
BESIDE = "its rating is known: the line of its family only stands beside it"


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


def rated(setting: Setting, task: Task, carried_kg: Array) -> Estimate | None:
    """Estimate from the rating on the machine's plate, else its record's; None without one."""
    record, trace = setting.record(task), setting.trace()
    if _plate_is_read(task):
        plate = need(setting, task, RATING)
        trace.given(f"rating ({plate.text})", plate.values, "kW", source=plate.source, status=plate.status)
        return _on_rating(setting, task, plate.values, "rated", carried_kg, trace)
    if record is None or record.rated_pto_power_kw is None:
        return None
    base = np.full(setting.draws.n, record.rated_pto_power_kw)
    text = f"least PTO power its record gives for {record.label}"
    trace.given(text, base, "kW", source=record.source_id, status=record.status)
    return _on_rating(setting, task, base, "rated", carried_kg, trace)


def _is_rated(setting: Setting, task: Task) -> bool:
    record = setting.record(task)
    return _plate_is_read(task) or (record is not None and record.rated_pto_power_kw is not None)


def _plate_is_read(task: Task) -> bool:
    return task.rated_pto_power_kw is not None and task.rated_pto_power_kw.low is not None


def fitted(setting: Setting, task: Task, carried_kg: Array) -> Estimate | None:
    """Estimate from the regression of rated PTO power on size over the family's records; None without one."""
    fit = setting.library.fits.get(task.family)
    if fit is None:
        return None
    known = [own for name in fit.variables if (own := sized_by(setting, task, name)) is not None]
    if len(known) < len(fit.variables):
        return None
    text = f"fitted to {fit.n} records"
    stays = BESIDE if _is_rated(setting, task) else ""
    fact = of_task(task.name, "fitted", asks=RATING, stays=stays, text=text)
    xs = [own.values for own in known]
    base = ratings.predict(fit, xs[0], xs[1] if len(xs) > 1 else None, setting.unknowns.normal(fact))
    setting.unknowns.would_tell(fact, base)
    notes = tuple(
        f"{name.rsplit('_', 1)[0].replace('_', ' ')} lies outside the family's {fit.n} records: the fit is stretched"
        for name, own, low, high in zip(fit.variables, known, fit.lows, fit.highs, strict=True)
        if not holds(low, high, own.low, own.high, SLACK)
    )
    terms = " ".join(f"+ {b:.4f} ln({name})" for b, name in zip(fit.coefficients[1:], fit.variables, strict=True))
    trace = setting.trace()
    trace.given(
        f"ln P = {fit.coefficients[0]:.4f} {terms}, over {fit.n} records, spread {fit.spread:.3f} of ln P",
        base,
        "kW",
        source="PRACTICE",
        status="practice",
        inputs={name: (own.values, unit_of(name)) for name, own in zip(fit.variables, known, strict=True)},
    )
    return _on_rating(setting, task, base, "fitted", carried_kg, trace, notes)


def _on_rating(
    setting: Setting, task: Task, base: Array, basis: str, carried_kg: Array, trace: Trace, notes: tuple[str, ...] = ()
) -> Estimate:
    """Raise a rating [kW] for growth, pace, the policy's reserve and the hills."""
    factors = [_allowed(setting, task, name, trace) for name in ("growth", "pace")]
    usual = setting.library.allowance("rating_reserve")["low"]
    held = trace.call(rating.reserve_factor)(usual, r=setting.job.policy.reserve_power)
    asked = trace.call(rating.rating_asked)(base, k_growth=factors[0], k_pace=factors[1], k_reserve=held)
    ground = going(setting, task)
    if ground is None or not np.any(ground.hill > 0):
        return Estimate(basis, np.asarray(asked), np.zeros(setting.draws.n), trace.steps, notes)
    trace.follow(ground.uphill)
    what = "with the machine uphill, tractor's mass still to add"
    alpha = trace.call(moving.grade_on_top, what)(asked, m=carried_kg, p_grade=ground.hill)
    return Estimate(basis, np.asarray(alpha), ground.hill, trace.steps, notes)


def _allowed(setting: Setting, task: Task, name: str, trace: Trace) -> Array:
    """Return the factor that growth or pace puts on a rating [1]; 1 where it does not concern the machine."""
    choice = task.growth if name == "growth" else task.pace
    group = setting.family(task).group
    arrays = {}
    for level in choice.among:
        row = setting.library.allowance(name, level)
        applies = row["applies_to"] is None or group in row["applies_to"].split(";")
        arrays[level] = setting.allowance(name, level) if applies else np.ones(setting.draws.n)
    fact = of_task(task.name, name, text=choice.text, source="job sheet", status="customer")
    drawn = by_choice(setting, fact, choice.among, arrays)
    if np.any(drawn != 1.0):
        words = " or ".join(choice.among)
        trace.given(f"factor for {words} {name}", drawn, "1", source="PRACTICE", status="practice")
    return drawn


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
    family, trace = setting.family(task), setting.trace()
    speed, zero = speed_of(setting, task), np.zeros(setting.draws.n)
    at_rest = generator(setting, task, trace)
    if at_rest is not None:
        return Estimate("computed", at_rest, zero, trace.steps)
    if family.rotary_row == THROWN_SNOW and (task.speed_km_h is None or task.snow_depth_m is None):
        return None
    shaft, alpha, beta = zero, zero, zero
    if family.rotary_row and family.power != "ground" and speed is not None:
        shaft = shaft_power(setting, task, speed, trace)
    oil = oil_power(setting, task, flow, trace)
    if speed is not None:
        if family.power == "pto" and family.rotary_row is None:
            return None
        if pulled is not None and family.power in {"draft", "ground"}:
            alpha, beta = traction_power(setting, task, pulled, speed, trace)
        else:
            alpha, beta = _moving(setting, task, carried_kg, trace)
    elif oil is None:
        return None
    whole = trace.call(moving.task_power)(alpha, P_pto=shaft, P_hyd=zero if oil is None else oil)
    load = trace.call(rating.load_held)(setting.job.policy.reserve_power)
    what = "the policy's reserve kept in hand, tractor's mass still to add"
    needed = trace.call(drawbar.rated_power_needed, what)(whole, X=load)
    per_kg = drawbar.rated_power_needed(beta, X=load)
    return Estimate("computed", np.asarray(needed), np.asarray(per_kg), trace.steps)


def _moving(setting: Setting, task: Task, carried_kg: Array, trace: Trace) -> tuple[Array, Array]:
    """Return the power of rolling and grade of machine and load [kW], and per kg of tractor [kW/kg]."""
    ground = going(setting, task)
    if ground is None:
        raise LookupError(f"{task.name} has no speed")
    trace.follow(ground.steps)
    roll = ground.roll if setting.attachment(task) == "trailed" else ground.own
    alpha = trace.call(moving.moving_power, "machine and load")(carried_kg, p_roll=roll, p_grade=ground.hill)
    beta = trace.call(moving.moving_power, "each kg of tractor")(1.0, p_roll=ground.own, p_grade=ground.hill)
    return np.asarray(alpha), np.asarray(beta)
