"""What moving over the place's ground costs: rolling and grade, as power at the PTO per kilogram moved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.unknowns import SCATTER, of_trade
from evener.scoring.mechanics.engine import drawbar, power_flow
from evener.scoring.mechanics.tyres import grade, traction
from evener.scoring.place.ground import CONE_ROW, SURFACE, by_choice, ground_of, soil_of
from evener.scoring.place.loads import HAULING
from evener.scoring.place.sizes import Size, size, slope

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Step

WHEELED = ("2WD", "MFWD")


@dataclass(frozen=True)
class Going:
    """What moving over the place's ground costs, at the PTO: per kg of machine and per kg of tractor.

    Attributes
    ----------
    hill : grade power per kg of anything on wheels or hitch [kW/kg]
    roll : motion-resistance power per kg carried by the machine's own wheels [kW/kg]
    own : motion-resistance power per kg of tractor [kW/kg]
    uphill, steps : how the grade power came about, and all of it
    """

    hill: Array
    roll: Array
    own: Array
    uphill: tuple[Step, ...]
    steps: tuple[Step, ...]


def speed_of(setting: Setting, task: Task) -> Size | None:
    """Return the working speed [km/h]: the sheet's, the record's, or the family's typical; None for standing work.

    What is hauled, or spread and mixed load by load, slows down on a hill unless the sheet says how fast it goes.
    """
    return setting.once(task, _speed)


def going(setting: Setting, task: Task) -> Going | None:
    """Return what a kilogram costs to move over this ground and up this slope; None for standing work."""
    return setting.once(task, _going)


def _speed(setting: Setting, task: Task) -> Size | None:
    record = setting.record(task)
    family = setting.family(task)
    slows = task.speed_km_h is None and (family.group == HAULING or family.batch_low_h is not None)
    level = None
    if task.speed_km_h is not None or (record is not None and record.typical_speed_km_h is not None):
        level = size(setting, task, "speed_km_h" if task.speed_km_h is not None else "typical_speed_km_h")
    elif family.speed_typical_km_h is not None:
        typical = family.speed_typical_km_h
        values = np.full(setting.draws.n, typical)
        level = Size("speed_km_h", values, typical, typical, "usual for the family", family.source_id, family.status)
    return _climbing(setting, task, level) if level is not None and slows else level


def _climbing(setting: Setting, task: Task, level: Size) -> Size:
    """Return the speed of hauling on a slope: what the power of rolling on the level still gives, but not a crawl."""
    steep = slope(setting, task)
    rolling = traction.undriven_resistance(ground_of(setting, task).mobility)
    slowest = setting.family(task).speed_low_km_h or level.low
    uphill = grade.climbing_speed(level.values, MR_W=rolling, slope=steep.values)
    values = np.minimum(np.maximum(uphill, slowest), level.values)
    low, high = float(values.min()), float(values.max())
    return replace(level, values=values, low=low, high=high, text=f"{level.text}, slower uphill")


def _going(setting: Setting, task: Task) -> Going | None:
    speed = speed_of(setting, task)
    if speed is None:
        return None
    trace = setting.trace()
    ratio, resistance = _ground(setting, task)
    steep = slope(setting, task)
    at_wheels = trace.call(grade.grade_power, "each kg uphill")(1.0, slope=steep.values, S=speed.values)
    hill = trace.call(power_flow.pto_from_drawbar, "each kg uphill")(at_wheels, ratio=ratio)
    uphill = trace.steps
    axle = setting.library.row("power_ratios", from_point="transmission input", to_point="axle")
    gears = trace.call(power_flow.middle_ratio, "transmission to axle")(axle["ratio_low"], high=axle["ratio_high"])
    drag = trace.call(traction.rolling_force, "each kg rolling")(1.0, MR_W=resistance)
    rolling = trace.call(drawbar.drawbar_power, "each kg rolling")(drag, S=speed.values)
    roll = trace.call(power_flow.pto_from_drawbar, "each kg on the machine's wheels")(rolling, ratio=ratio)
    own = trace.call(drawbar.total_power, "each kg on the tractor's wheels")(rolling, E_m=gears, E_t=1.0)
    return Going(np.asarray(hill), np.asarray(roll), np.asarray(own), uphill, trace.steps)


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
