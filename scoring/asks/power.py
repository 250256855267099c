"""PTO power a task asks: the level its machine is rated at or its draft takes, what the work adds, and the hill.

A demand is `alpha + beta * tractor_mass` [kW]: beta is what the tractor's own mass costs on slopes and soft ground.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.levels import moved_by, rated
from evener.scoring.asks.oil import oil_power
from evener.scoring.asks.pull import pull_on_level, traction_power
from evener.scoring.asks.shaft import THROWN_SNOW, generator, grows_with, shaft_power
from evener.scoring.core.estimate import Estimate, Line
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_task
from evener.scoring.mechanics.engine import drawbar, level, moving, rating
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place import masses
from evener.scoring.place.going import going, hauls, slows_uphill, usual_speed
from evener.scoring.place.ground import by_choice

if TYPE_CHECKING:
    from evener.schema.records import Choice, Task
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace

GUIDE_ROW = {"item": "total mass guide", "drive_or_job": "front wheel assist"}
PULLS = frozenset({"draft", "ground"})


def on_rating(setting: Setting, task: Task, carried_kg: Array) -> Estimate | None:
    """Estimate from the rating: of the plate, the record, or such machines; what the work and the hill add; or None.

    Parameters
    ----------
    setting, task : the job and the task
    carried_kg : machine with its load [kg]
    """
    trace, zero = setting.trace(), np.zeros(setting.draws.n)
    found = rated(setting, task, trace)
    if found is None:
        return None
    usual = setting.library.allowance("rating_reserve")["low"]
    held = trace.call(rating.reserve_factor)(usual, r=setting.job.policy.reserve_power)
    factor, notes = 1.0, found.notes
    if found.basis == "fitted":
        factor, apart = moved_by(setting, task, _in_usual_work, trace, rated_leads=True)
        notes = (*notes, *apart)
    easy = np.asarray(trace.call(rating.rating_asked)(found.values, k_growth=factor, k_pace=1.0, k_reserve=held))
    growth, pace, crop = (_allowed(setting, task, name, trace) for name in ("growth", "pace", "crop"))
    more = grows_with(setting, task, easy, trace)
    what = "with the crop, and with what goes through it"
    heavier = trace.call(rating.rating_asked, what)(easy, k_growth=crop, k_pace=more, k_reserve=1.0)
    asked = np.asarray(trace.call(rating.rating_asked)(heavier, k_growth=growth, k_pace=pace, k_reserve=1.0))
    alpha, beta = _uphill(setting, task, carried_kg, (asked, zero), trace)
    steady = np.asarray(level.part_way(asked, P_1=zero, x=_goes_with_speed(setting, task)))
    return Estimate(found.basis, alpha, beta, trace.steps, notes, easy=(easy, zero), steady=steady)


def _goes_with_speed(setting: Setting, task: Task) -> float:
    """Return the share of a machine's shaft power that goes with its speed [1]: all where the table does not say."""
    row = setting.library.allowance("speed_share")
    return float(row["low"]) if setting.family(task).group in row["applies_to"].split(";") else 1.0


def _in_usual_work(setting: Setting, task: Task) -> float | None:
    """Return the power worked out in usual work on the level, for a tractor of the guide's mass [kW]; None without."""
    carried = masses.full(setting, task, setting.trace())
    found = worked_out(setting, task, carried)
    return None if found is None else float(of_guide_mass(setting, found)[0])


def _allowed(setting: Setting, task: Task, name: str, trace: Trace) -> Array:
    """Return the factor that growth, pace or crop puts on a rating [1]; 1 where it does not concern the machine."""
    choice: Choice | None = getattr(task, name)
    if choice is None:
        return np.ones(setting.draws.n)
    group = setting.family(task).group
    arrays = {}
    for word in choice.among:
        row = setting.library.allowance(name, word)
        applies = row["applies_to"] is None or group in row["applies_to"].split(";")
        arrays[word] = setting.allowance(name, word) if applies else np.ones(setting.draws.n)
    fact = of_task(task.name, name, text=choice.text, source="job sheet", status="customer")
    drawn = by_choice(setting, fact, choice.among, arrays)
    if np.any(drawn != 1.0):
        words = " or ".join(choice.among)
        trace.given(f"factor for {words} {name}", drawn, "1", source="PRACTICE", status="practice")
    return drawn


def _uphill(setting: Setting, task: Task, carried_kg: Array, flat: Line, trace: Trace) -> Line:
    """Return a power on the level with the machine uphill: alpha and beta."""
    on_level, per_kg_level = flat
    ground = going(setting, task)
    if ground is None or not (np.any(ground.hill_roll > 0) or np.any(ground.hill_own > 0)):
        return flat
    trace.follow(ground.uphill)
    per_kg = ground.hill_roll if setting.attachment(task) == "trailed" else ground.hill_own
    what = "climbing with the machine (the tractor's own weight is added below)"
    alpha = trace.call(moving.grade_on_top, what)(on_level, m=carried_kg, p_grade=per_kg)
    beta = moving.grade_on_top(per_kg_level, m=1.0, p_grade=ground.hill_own)
    return np.asarray(alpha), np.asarray(beta)


def computed(setting: Setting, task: Task, carried_kg: Array, flow: Demand | None = None) -> Estimate | None:
    """Estimate from published shaft power, pull, rolling and oil, the trade's tractor, and the hill; None without them.

    A snow blower is driven as slowly as its power asks, so it is computed only where the sheet says depth and speed.

    Parameters
    ----------
    setting, task : the job and the task
    carried_kg : machine with its load [kg]
    flow : the oil it asks
    """
    found = worked_out(setting, task, carried_kg, flow)
    if found is None:
        return None
    trace = setting.trace()
    trace.follow(found.steps)
    alpha, beta = found.alpha, found.beta
    notes: tuple[str, ...] = ()
    if setting.family(task).power in PULLS:
        factor, notes = moved_by(setting, task, _in_usual_work, trace, rated_leads=False)
        easy = trace.call(rating.rating_asked)(alpha, k_growth=factor, k_pace=1.0, k_reserve=1.0)
        alpha, beta = np.asarray(easy), np.asarray(beta * factor)
    pace = _allowed(setting, task, "pace", trace)
    asked = alpha
    if np.any(pace != 1.0):
        asked = np.asarray(trace.call(rating.rating_asked)(alpha, k_growth=1.0, k_pace=pace, k_reserve=1.0))
    hilly = _uphill(setting, task, carried_kg, (asked, beta), trace)
    # Nothing rates a wagon: what rolls more slowly takes less power, down to a useful speed.
    slow = _least_pace(setting, task) if hauls(setting, task) else 1.0
    met = tuple(np.asarray(level.part_way(0.0, P_1=each, x=slow)) for each in (alpha, beta))
    return Estimate("computed", *hilly, trace.steps, notes, easy=(met[0], met[1]))


def worked_out(setting: Setting, task: Task, carried_kg: Array, flow: Demand | None = None) -> Estimate | None:
    """Return the power on the level by published figures, at the load a tractor carries all day; None without a model.

    Parameters
    ----------
    setting, task : the job and the task
    carried_kg : machine with its load [kg]
    flow : the oil it asks
    """
    family, trace = setting.family(task), setting.trace()
    speed, zero = usual_speed(setting, task), np.zeros(setting.draws.n)
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
        pull = pull_on_level(setting, task, speed, carried_kg, trace)
        if pull is not None and family.power in PULLS:
            alpha, beta = traction_power(setting, task, pull, speed, trace)
        else:
            alpha, beta = _rolling(setting, task, carried_kg, trace)
    elif oil is None:
        return None
    whole = trace.call(moving.task_power)(alpha, P_pto=shaft, P_hyd=zero if oil is None else oil)
    load = trace.call(rating.load_held)(setting.job.policy.reserve_power)
    what = "at the load carried all day (the tractor's own weight is added below)"
    needed = trace.call(drawbar.rated_power_needed, what)(whole, X=load)
    per_kg = drawbar.rated_power_needed(beta, X=load)
    return Estimate("computed", np.asarray(needed), np.asarray(per_kg), trace.steps)


def _rolling(setting: Setting, task: Task, carried_kg: Array, trace: Trace) -> Line:
    """Return the power of rolling on the level of machine and load [kW], and per kg of tractor [kW/kg]."""
    ground = going(setting, task)
    if ground is None:
        raise LookupError(f"{task.name} has no speed")
    trace.follow(ground.rolling)
    roll = ground.roll if setting.attachment(task) == "trailed" else ground.own
    alpha = trace.call(moving.moving_power, "machine and load")(carried_kg, p_roll=roll, p_grade=0.0)
    beta = trace.call(moving.moving_power, "each kg of tractor")(1.0, p_roll=ground.own, p_grade=0.0)
    return np.asarray(alpha), np.asarray(beta)


def beside_rating(setting: Setting, task: Task, carried_kg: Array, flow: Demand | None) -> Estimate | None:
    """Return what published figures give where a rating leads, to stand beside it; None where they give nothing.

    Parameters
    ----------
    setting, task : the job and the task
    carried_kg : machine with its load [kg]
    flow : the oil it asks
    """
    try:
        return computed(setting, task, carried_kg, flow)
    except (CannotSize, OutOfRange):
        return None


def floor_of(setting: Setting, task: Task, estimate: Estimate) -> tuple[Line, float]:
    """Return alpha and beta of what has to be met at the least useful speed, and that speed over the usual one [1].

    The level in easy going is met whatever the speed: a small tractor never runs a machine rated for a larger one by
    creeping. What comes on top goes with the speed.

    Parameters
    ----------
    setting, task : the job and the task
    estimate : the one that leads
    """
    easy = estimate.easy
    useful = least = _least_pace(setting, task)
    speed = usual_speed(setting, task)
    if speed is not None and slows_uphill(setting, task):
        crawl = float(setting.library.allowance("grade_speed")["low"])
        least = min(least, float(drawbar.share_of_speed(crawl, S=speed.high)))
    if easy is None or speed is None:
        return (estimate.alpha, estimate.beta), 1.0
    whole = of_guide_mass(setting, estimate)
    mass = whole * guide_mass(setting)
    on_level = np.minimum(easy[0] + easy[1] * mass, whole)
    left = np.asarray(level.left_when_slow(whole, P_0=on_level, P_s=estimate.steady, s=least))
    alpha = level.part_way(easy[0], P_1=estimate.alpha, x=left)
    beta = level.part_way(easy[1], P_1=estimate.beta, x=left)
    return (np.asarray(alpha), np.asarray(beta)), useful if hauls(setting, task) else least


def _least_pace(setting: Setting, task: Task) -> float:
    """Return the least useful speed over the usual one, uphill aside [1]."""
    pace = "full" if task.pace.settled == "full" else "normal"
    return float(setting.library.allowance("least_pace", pace)["low"])


def guide_mass(setting: Setting) -> float:
    """Return the published mass of a tractor for each kW at its PTO [kg/kW]."""
    return float(setting.library.row("ballast", **GUIDE_ROW)["mass_per_power_kg_per_kw"])


def of_guide_mass(setting: Setting, demand: Demand | Estimate) -> Array:
    """Return PTO power [kW] asked of a tractor of the published mass per PTO kW, without naming a tractor."""
    return np.asarray(rating.power_at_mass_ratio(demand.alpha, b=demand.beta, g=guide_mass(setting)))


def raised(estimate: Estimate, share: Array, trace: Trace) -> Estimate:
    """Return an estimate as the rating at sea level that leaves it at the place.

    Parameters
    ----------
    estimate : at the place
    share : of the power left there [1]
    trace : the estimate's steps, with how the share came about
    """
    alpha = np.asarray(trace.call(rating.sea_level_rating)(estimate.alpha, share=share))
    beta = np.asarray(rating.sea_level_rating(estimate.beta, share=share))
    easy = estimate.easy
    if easy is not None:
        easy = (
            np.asarray(rating.sea_level_rating(easy[0], share=share)),
            np.asarray(rating.sea_level_rating(easy[1], share=share)),
        )
    steady = np.asarray(rating.sea_level_rating(estimate.steady, share=share))
    return replace(estimate, alpha=alpha, beta=beta, steps=trace.steps, easy=easy, steady=steady)
