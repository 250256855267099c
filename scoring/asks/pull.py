"""Drawbar pull a task asks, and the power that pull takes: tool, rolling and grade, as alpha + beta * tractor mass."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.shaft import shaft_power
from evener.scoring.asks.tools import PUSHED_SNOW, tool_pull
from evener.scoring.core.demand import Demand
from evener.scoring.core.trace import Step, applied, step
from evener.scoring.gives import grip
from evener.scoring.mechanics.engine import drawbar
from evener.scoring.mechanics.quantities import GRAVITY
from evener.scoring.mechanics.tyres import grade, traction
from evener.scoring.place.ground import ground_of, soil_of
from evener.scoring.place.sizes import key, slope
from evener.scoring.place.variants import draft_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.place.ground import Ground
    from evener.scoring.place.sizes import Size

ON_WHEELS = ("trailed", "semi_mounted")


def drawbar_pull(setting: Setting, task: Task, speed: Size, carried_kg: Array) -> Demand | None:
    """Return the pull asked [kN]: the tool's, or the rolling of a machine on its own wheels, and the grade of all.

    None for a machine that is carried and pulls at nothing. Published draft includes the rolling of the tool.

    Parameters
    ----------
    setting, task : the job and the task
    speed : working speed [km/h]
    carried_kg : machine with its load [kg]
    """
    wheeled = setting.attachment(task) in ON_WHEELS
    tool = tool_pull(setting, task, speed)
    if tool is None and not wheeled:
        return None
    ground = ground_of(setting, task)
    pull, steps = (tool[0], list(tool[1])) if tool else (np.zeros(setting.draws.n), [])
    if tool is None:
        resistance = np.asarray(traction.undriven_resistance(ground.mobility))
        rolling = np.asarray(traction.rolling_force(carried_kg, MR_W=resistance))
        steps += [
            applied("traction.undriven_resistance", {"B_n": (ground.mobility, "1")}, (resistance, "1")),
            applied(
                "traction.rolling_force",
                {"m": (carried_kg, "kg"), "MR/W": (resistance, "1")},
                (rolling, "kN"),
                what="machine and load on their own wheels",
            ),
        ]
        driven = _ground_driven(setting, task, speed)
        if driven is not None:
            rolling = rolling + driven[0]
            steps.append(driven[1])
        pull = pull + rolling
    steep = slope(setting, task)
    uphill = np.asarray(grade.grade_force(carried_kg, slope=steep.values))
    per_kg = np.asarray(grade.grade_force(1.0, slope=steep.values))
    if np.any(steep.values > 0):
        inputs: dict[str, tuple[Array | float | str, str]] = {
            "m": (carried_kg, "kg"),
            "theta from slope": (steep.values, "1"),
        }
        steps.append(applied("grade.grade_force", inputs, (uphill, "kN"), what="machine and load uphill"))
    steps.append(
        step(
            "pull = tool or rolling + grade, tractor's own grade still to add",
            {"tool or rolling": (pull, "kN"), "grade": (uphill, "kN")},
            (pull + uphill, "kN"),
            source="EP496",
            status="memory",
        )
    )
    return Demand(
        task.name,
        "drawbar_pull",
        pull + uphill,
        per_kg,
        "mass_kg",
        "pulled",
        tuple(steps),
        terms=_terms(setting, task, ground, speed),
    )


def _ground_driven(setting: Setting, task: Task, speed: Size) -> tuple[Array, Step] | None:
    """Return what the pull drives through the machine's own wheels [kN], for a machine without a shaft."""
    family = setting.family(task)
    if family.power != "ground" or family.rotary_row is None:
        return None
    power, _ = shaft_power(setting, task, speed)
    pull = np.asarray(drawbar.pull_at_power(power, S=speed.values))
    inputs: dict[str, tuple[Array | float | str, str]] = {"P_db": (power, "kW"), "S": (speed.values, "km/h")}
    return pull, applied("drawbar.pull_at_power", inputs, (pull, "kN"), what="driven by its own wheels")


def _terms(setting: Setting, task: Task, ground: Ground, speed: Size) -> grip.Soil | grip.Snow:
    if draft_row(setting, task) == PUSHED_SNOW:
        tyres = task.tyres or "plain"
        return grip.Snow(f"snow/{tyres}", setting, tyres)
    drawn_as, _ = soil_of(setting, task)
    return grip.Soil(
        f"{ground.key}/{key(task, 'speed')}={speed.low:g}-{speed.high:g}", setting, ground, drawn_as, speed.values
    )


def traction_power(setting: Setting, task: Task, pull: Demand, speed: Size) -> tuple[Array, Array, list[Step]]:
    """Return the total power of a pull at PTO equivalent [kW], and per kg of tractor [kW/kg], with the steps.

    P_T = P_db / (E_m E_t) with E_t = (1 - s) D / (D + MR): the tractor's own motion resistance MR goes with its mass,
    so that the sum is (D + MR) S / 3.6 / ((1 - s) E_m), linear in that mass.
    """
    ground = ground_of(setting, task)
    gear = gears(setting)
    slip = ground.slip
    own = np.asarray(traction.motion_resistance(ground.mobility, s=slip))
    at_drawbar = np.asarray(drawbar.drawbar_power(pull.alpha, S=speed.values))
    alpha = np.asarray(drawbar.total_power(at_drawbar, E_m=gear, E_t=1 - slip))
    per_kg = pull.beta + own * GRAVITY / 1000
    beta = np.asarray(drawbar.total_power(drawbar.drawbar_power(per_kg, S=speed.values), E_m=gear, E_t=1 - slip))
    steps = [
        applied("drawbar.drawbar_power", {"D": (pull.alpha, "kN"), "S": (speed.values, "km/h")}, (at_drawbar, "kW")),
        applied(
            "traction.motion_resistance",
            {"B_n": (ground.mobility, "1"), "s": (slip, "1")},
            (own, "1"),
            what="tractor's driven wheels",
        ),
        applied(
            "drawbar.total_power",
            {"P_db": (at_drawbar, "kW"), "E_m": (gear, "1"), "E_t": (1 - slip, "1")},
            (alpha, "kW"),
            what="with E_t = 1 - s, tractor's own rolling and grade still to add",
        ),
        applied(
            "drawbar.total_power",
            {
                "P_db": (np.asarray(drawbar.drawbar_power(per_kg, S=speed.values)), "kW/kg"),
                "E_m": (gear, "1"),
                "E_t": (1 - slip, "1"),
            },
            (beta, "kW/kg"),
            what="for each kg of tractor",
        ),
    ]
    return alpha, beta, steps


def gears(setting: Setting) -> Array:
    """Return the efficiency of the transmission from the PTO's point to the axles [1]."""
    axle = setting.library.row("power_ratios", from_point="transmission input", to_point="axle")
    return setting.draws.uniform("power_ratio/axle", axle["ratio_low"], axle["ratio_high"])
