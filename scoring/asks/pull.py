"""Drawbar pull a task asks, and the power that pull takes: tool, rolling and grade, as alpha + beta * tractor mass."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.shaft import shaft_power
from evener.scoring.asks.tools import PUSHED_SNOW, tool_pull
from evener.scoring.core.demand import Demand
from evener.scoring.core.unknowns import SCATTER, of_trade
from evener.scoring.mechanics.engine import drawbar, moving
from evener.scoring.mechanics.tyres import grade, slip, traction
from evener.scoring.place.ground import ground_of, soil_of
from evener.scoring.place.sizes import key
from evener.scoring.place.slopes import slope
from evener.scoring.place.terms import Snow, Soil
from evener.scoring.place.variants import draft_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.terms import Terms
    from evener.scoring.core.trace import Trace
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
    trace = setting.trace()
    pull = pull_on_level(setting, task, speed, carried_kg, trace)
    if pull is None:
        return None
    steep = slope(setting, task)
    per_kg = np.asarray(grade.grade_force(1.0, slope=steep.values))
    if np.any(steep.values > 0):
        uphill = trace.call(grade.grade_force, "machine and load uphill")(carried_kg, slope=steep.values)
        pull = np.asarray(trace.call(moving.whole_pull, "the tractor's own climbing is added below")(pull, R=uphill))
    return Demand(
        task.name,
        "drawbar_pull",
        pull,
        per_kg,
        "mass_kg",
        "pulled",
        trace.steps,
        terms=_terms(setting, task, ground_of(setting, task), speed),
    )


def pull_on_level(setting: Setting, task: Task, speed: Size, carried_kg: Array, trace: Trace) -> Array | None:
    """Return the pull on the level [kN]: the tool's, or the rolling of a machine on its own wheels; None without one.

    Parameters
    ----------
    setting, task : the job and the task
    speed : working speed [km/h]
    carried_kg : machine with its load [kg]
    trace : where its steps go
    """
    pull = tool_pull(setting, task, speed, trace)
    if pull is None and setting.attachment(task) in ON_WHEELS:
        pull = _rolling(setting, task, speed, carried_kg, trace)
    return pull


def _rolling(setting: Setting, task: Task, speed: Size, carried_kg: Array, trace: Trace) -> Array:
    """Return the rolling of a machine on its own wheels [kN], with what those wheels drive where it has no shaft."""
    resistance = trace.call(traction.undriven_resistance)(ground_of(setting, task).mobility)
    what = "machine and load on their own wheels"
    rolling = np.asarray(trace.call(traction.rolling_force, what)(carried_kg, MR_W=resistance))
    family = setting.family(task)
    if family.power != "ground" or family.rotary_row is None:
        return rolling
    # Its wheels turn it faster the faster it goes: the pull stays, and the power goes with the speed. The published
    # power is of the speed that is usual for the family, whatever that of a record.
    power = shaft_power(setting, task, speed, trace)
    usual = family.speed_typical_km_h or speed.values
    driven = trace.call(drawbar.pull_at_power, "driven by its own wheels")(power, S=usual)
    return np.asarray(trace.call(moving.whole_pull, "with what the wheels drive")(rolling, R=driven))


def _terms(setting: Setting, task: Task, ground: Ground, speed: Size) -> Terms:
    if draft_row(setting, task) == PUSHED_SNOW:
        tyres = task.tyres or "plain"
        return Snow(f"snow/{tyres}", setting, tyres)
    fact, _ = soil_of(setting, task)
    return Soil(f"{ground.key}/{key(task, 'speed')}={speed.low:g}-{speed.high:g}", setting, ground, fact, speed.values)


def traction_power(setting: Setting, task: Task, pull: Array, speed: Size, trace: Trace) -> tuple[Array, Array]:
    """Return the total power of a pull on the level at PTO equivalent [kW], and per kg of tractor [kW/kg].

    P_T = P_db / (E_m E_t) with E_t = (1 - s) D / (D + MR): the tractor's own motion resistance MR goes with its mass,
    so that the sum is (D + MR) S / 3.6 / ((1 - s) E_m), linear in that mass.
    """
    ground = ground_of(setting, task)
    gear = gears(setting)
    left = trace.call(slip.travel_speed, "share of the speed that slip leaves, as E_t")(1.0, s=ground.slip)
    at_drawbar = trace.call(drawbar.drawbar_power)(pull, S=speed.values)
    what = "the tractor's own rolling is added below"
    alpha = trace.call(drawbar.total_power, what)(at_drawbar, E_m=gear, E_t=left)
    own = trace.call(traction.motion_resistance, "tractor's driven wheels")(ground.mobility, s=ground.slip)
    drag = trace.call(traction.rolling_force, "each kg of tractor")(1.0, MR_W=own)
    of_kg = trace.call(drawbar.drawbar_power, "each kg of tractor")(drag, S=speed.values)
    beta = trace.call(drawbar.total_power, "each kg of tractor")(of_kg, E_m=gear, E_t=left)
    return np.asarray(alpha), np.asarray(beta)


def gears(setting: Setting) -> Array:
    """Return the efficiency of the transmission from the PTO's point to the axles [1]."""
    row = setting.library.row("power_ratios", from_point="transmission input", to_point="axle")
    fact = of_trade("power_ratio/axle", source=row["source_id"], status=row["status"], stays=SCATTER)
    return setting.unknowns.uniform(fact, row["ratio_low"], row["ratio_high"])
