"""What moving over the place's ground costs: rolling and grade, as power at the PTO per kilogram moved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Step, step
from evener.scoring.mechanics.engine import drawbar, power_flow
from evener.scoring.mechanics.tyres import grade, traction
from evener.scoring.place.ground import CONE_ROW, SURFACE, by_choice, ground_of, soil_of
from evener.scoring.place.loads import HAULING
from evener.scoring.place.sizes import Size, key, size, slope

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting

WHEELED = ("2WD", "MFWD")
STANDARD_GRAVITY_KN = 9.80665e-3


@dataclass(frozen=True)
class Going:
    """What moving over the place's ground costs, at the PTO: per kg of machine and per kg of tractor.

    Attributes
    ----------
    hill : grade power per kg of anything on wheels or hitch [kW/kg]
    roll : motion-resistance power per kg carried by the machine's own wheels [kW/kg]
    own : motion-resistance power per kg of tractor [kW/kg]
    """

    hill: Array
    roll: Array
    own: Array
    speed: Size
    steps: tuple[Step, ...]


def speed_of(setting: Setting, task: Task) -> Size | None:
    """Return the working speed [km/h]: the sheet's, the record's, or the family's typical; None for standing work.

    What is hauled, or spread and mixed load by load, slows down on a hill unless the sheet says how fast it goes.
    """
    record = setting.record(task)
    family = setting.family(task)
    slows = task.speed_km_h is None and (family.group == HAULING or family.batch_low_h is not None)
    found = None
    if task.speed_km_h is not None or (record is not None and record.typical_speed_km_h is not None):
        found = size(setting, task, "speed_km_h" if task.speed_km_h is not None else "typical_speed_km_h")
    elif family.speed_typical_km_h is not None:
        typical = family.speed_typical_km_h
        values = setting.draws.uniform(key(task, "speed_km_h"), typical, typical)
        found = Size(
            "speed_km_h", values, typical, typical, "usual for the family", family.source_id, family.status, open=False
        )
    return _climbing(setting, task, found) if found is not None and slows else found


def _climbing(setting: Setting, task: Task, level: Size) -> Size:
    """Return the speed of hauling on a slope: what the power of rolling on the level still gives, but not a crawl."""
    steep = slope(setting, task)
    rolling = np.asarray(traction.undriven_resistance(ground_of(setting, task).mobility))
    slowest = setting.family(task).speed_low_km_h or level.low
    values = np.maximum(level.values * rolling / (rolling + np.sin(grade.angle(steep.values))), slowest)
    values = np.minimum(values, level.values)
    low, high = float(values.min()), float(values.max())
    return replace(level, values=values, low=low, high=high, text=f"{level.text}, slower uphill", open=False)


def going(setting: Setting, task: Task, speed: Size) -> Going:
    """Return what a kilogram costs to move over this ground and up this slope, as PTO power [kW/kg]."""
    steep = slope(setting, task)
    drawn_as, soil = soil_of(setting, task)
    ratios, resistances = {}, {}
    for word in soil.among:
        rows = setting.library.rows("power_ratios", from_point="PTO", to_point="drawbar", surface=SURFACE[word])
        wheeled = [row["ratio"] for row in rows if row["tractor_type"].startswith(WHEELED)]
        ratios[word] = setting.draws.uniform(f"power_ratio/{word}", min(wheeled), max(wheeled))
        cone = setting.library.row("soil_conditions", soil_condition=CONE_ROW[word])
        resistances[word] = np.full(setting.draws.n, traction.undriven_resistance(cone["bn_at_30_kn_per_m2"]))
    ratio = by_choice(setting, drawn_as, soil.among, ratios)
    resistance = by_choice(setting, drawn_as, soil.among, resistances)
    hill = np.asarray(
        power_flow.pto_from_drawbar(grade.grade_power(1.0, slope=steep.values, S=speed.values), ratio=ratio)
    )
    axle_row = setting.library.row("power_ratios", from_point="transmission input", to_point="axle")
    axle = (axle_row["ratio_low"] + axle_row["ratio_high"]) / 2
    rolling = drawbar.drawbar_power(resistance * STANDARD_GRAVITY_KN, S=speed.values)
    roll = np.asarray(power_flow.pto_from_drawbar(rolling, ratio=ratio))
    steps = (
        step(
            "grade power per kg = m g sin(atan(slope)) S / 3600 / ratio",
            {
                "m": (1.0, "kg"),
                "slope": (steep.values, "1"),
                "S": (speed.values, "km/h"),
                "ratio PTO to drawbar": (ratio, "1"),
            },
            (hill, "kW/kg"),
            source="UAZ",
            status="published",
            method="power_flow.pto_from_drawbar",
        ),
        step(
            "rolling power per kg = (1/Bn + 0.04) m g S / 3600 / ratio",
            {
                "m": (1.0, "kg"),
                "1/Bn + 0.04": (resistance, "1"),
                "S": (speed.values, "km/h"),
                "ratio PTO to drawbar": (ratio, "1"),
            },
            (roll, "kW/kg"),
            source="D497",
            status="memory",
            method="traction.undriven_resistance",
        ),
    )
    return Going(hill, roll, np.asarray(rolling / axle), speed, steps)
