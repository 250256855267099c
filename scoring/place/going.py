"""What moving over the place's ground costs: rolling and grade, as power at the PTO per kilogram moved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.unknowns import SCATTER, of_trade
from evener.scoring.mechanics.engine import drawbar, moving, power_flow
from evener.scoring.mechanics.tyres import grade, traction
from evener.scoring.place.ground import CONE_ROW, SURFACE, by_choice, ground_of, soil_of
from evener.scoring.place.loads import HAULING, LEAST_RECORDS, sized_by
from evener.scoring.place.machines import alike
from evener.scoring.place.sizes import Size, size
from evener.scoring.place.slopes import slope
from evener.scoring.ratings.lines.least_squares import least_squares
from evener.scoring.ratings.sizes import size_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Step

DRAFT = "draft"
WHEELED = ("2WD", "front wheel assist")


@dataclass(frozen=True)
class Going:
    """What moving over the place's ground costs, at the PTO: per kg of machine and per kg of tractor.

    Attributes
    ----------
    roll : rolling on the level at the usual speed, per kg carried by the machine's own wheels [kW/kg]
    own : the same per kg of tractor [kW/kg]
    hill_roll, hill_own : what the hill adds to each, at the speed held there [kW/kg]
    rolling, uphill : how the rolling and how the hill came about
    """

    roll: Array
    own: Array
    hill_roll: Array
    hill_own: Array
    rolling: tuple[Step, ...]
    uphill: tuple[Step, ...]


def speed_of(setting: Setting, task: Task) -> Size | None:
    """Return the working speed [km/h], uphill where what is hauled slows down there; None for standing work."""
    return setting.once(task, _speed)


def usual_speed(setting: Setting, task: Task) -> Size | None:
    """Return the working speed on the level [km/h]: said, recorded, such tools' records', or the family's typical."""
    record = setting.record(task)
    family = setting.family(task)
    if task.speed_km_h is not None or (record is not None and record.typical_speed_km_h is not None):
        return size(setting, task, "speed_km_h" if task.speed_km_h is not None else "typical_speed_km_h")
    if family.speed_typical_km_h is None:
        return None
    of_records = _recorded_speed(setting, task) if record is None and family.power == DRAFT else None
    typical = of_records or family.speed_typical_km_h
    values = np.full(setting.draws.n, typical)
    if of_records is not None:
        return Size("speed_km_h", values, typical, typical, "usual for such records", "PRACTICE", "practice")
    return Size("speed_km_h", values, typical, typical, "usual for the family", family.source_id, family.status)


def _recorded_speed(setting: Setting, task: Task) -> float | None:
    """Return the speed that the records of a task's kind of tool give at its size [km/h]; None without any.

    The tractor that the trade puts before a tool pulls it at that speed.
    """
    name = setting.family(task).first_variable
    own = sized_by(setting, task, name) if name else None
    stated = [(size_of(one, name), one.typical_speed_km_h) for one in alike(setting, task)] if name else []
    known = [(x, v) for x, v in stated if x and v]
    if own is None or not known:
        return None
    x, v = (np.log(np.array(column, float)) for column in zip(*known, strict=True))
    line = float(np.median(v))
    if len(known) >= LEAST_RECORDS and np.ptp(x):
        a, b = least_squares(np.column_stack([np.ones(x.size), x]), v).coefficients
        line = float(np.clip(a + max(b, 0.0) * np.log(np.median(own.values)), v.min(), v.max()))
    return float(np.exp(line))


def slows_uphill(setting: Setting, task: Task) -> bool:
    """Return whether a task slows down on a hill unless its speed is said: what is hauled, or spread load by load."""
    family = setting.family(task)
    if task.speed_km_h is not None:
        return False
    return family.group == HAULING or family.batch_low_h is not None or family.first_variable == "payload_kg"


def hauls(setting: Setting, task: Task) -> bool:
    """Return whether a task hauls a wagon at no speed that the sheet states."""
    return setting.family(task).group == HAULING and task.speed_km_h is None


def going(setting: Setting, task: Task) -> Going | None:
    """Return what a kilogram costs to move over this ground and up this slope; None for standing work."""
    return setting.once(task, _going)


def _speed(setting: Setting, task: Task) -> Size | None:
    level = usual_speed(setting, task)
    return _climbing(setting, task, level) if level is not None and slows_uphill(setting, task) else level


def _climbing(setting: Setting, task: Task, level: Size) -> Size:
    """Return the speed of hauling on a slope: what the power of rolling on the level still gives, but not a crawl."""
    steep = slope(setting, task)
    rolling = traction.undriven_resistance(ground_of(setting, task).mobility)
    uphill = grade.climbing_speed(level.values, MR_W=rolling, slope=steep.values)
    values = np.minimum(np.maximum(uphill, setting.allowance("grade_speed")), level.values)
    low, high = float(values.min()), float(values.max())
    return replace(level, values=values, low=low, high=high, text=f"{level.text}, slower uphill")


def _going(setting: Setting, task: Task) -> Going | None:
    speed, usual = speed_of(setting, task), usual_speed(setting, task)
    if speed is None or usual is None:
        return None
    trace = setting.trace()
    ratio, resistance = _ground(setting, task)
    axle = setting.library.row("power_ratios", from_point="transmission input", to_point="axle")
    gears = trace.call(power_flow.middle_ratio, "transmission to axle")(axle["ratio_low"], high=axle["ratio_high"])
    drag = trace.call(traction.rolling_force, "each kg rolling")(1.0, MR_W=resistance)
    rolling = trace.call(drawbar.drawbar_power, "each kg rolling")(drag, S=usual.values)
    roll = trace.call(power_flow.pto_from_drawbar, "each kg on the machine's wheels")(rolling, ratio=ratio)
    own = trace.call(drawbar.total_power, "each kg on the tractor's wheels")(rolling, E_m=gears, E_t=1.0)
    on_level = trace.steps
    trace = setting.trace()
    steep = slope(setting, task)
    at_wheels = trace.call(grade.grade_power, "each kg uphill")(1.0, slope=steep.values, S=speed.values)
    hill = np.asarray(trace.call(power_flow.pto_from_drawbar, "each kg uphill")(at_wheels, ratio=ratio))
    hill_roll, hill_own = hill, hill
    if slows_uphill(setting, task):
        climbing = drawbar.drawbar_power(drag, S=speed.values)
        slow_roll = power_flow.pto_from_drawbar(climbing, ratio=ratio)
        slow_own = drawbar.total_power(climbing, E_m=gears, E_t=1.0)
        hill_roll, hill_own = (
            np.asarray(
                trace.call(moving.beyond_level, f"each kg on the {whose} wheels, slower uphill")(
                    1.0, p_up=hill + slow, p_level=level
                )
            )
            for whose, slow, level in (("machine's", slow_roll, roll), ("tractor's", slow_own, own))
        )
    return Going(np.asarray(roll), np.asarray(own), hill_roll, hill_own, on_level, trace.steps)


def _ground(setting: Setting, task: Task) -> tuple[Array, Array]:
    """Return the ratio of drawbar to PTO power and the motion resistance of undriven wheels on this soil [1]."""
    fact, soil = soil_of(setting, task)
    ratios, resistances = {}, {}
    for word in soil.among:
        rows = setting.library.rows("power_ratios", from_point="PTO", to_point="drawbar", surface=SURFACE[word])
        wheeled = [row["ratio"] for row in rows if row["tractor_type"].startswith(WHEELED)]
        printed = of_trade(f"power_ratio/{word}", source="UAZ", status="published", stays=SCATTER)
        ratios[word] = setting.unknowns.uniform(printed, min(wheeled), max(wheeled))
        cone = setting.library.row("soil_conditions", soil_condition=CONE_ROW[word])
        resistance = traction.undriven_resistance(cone["bn_at_30_kn_per_m2"])
        resistances[word] = np.full(setting.draws.n, resistance)
    return by_choice(setting, fact, soil.among, ratios), by_choice(setting, fact, soil.among, resistances)
