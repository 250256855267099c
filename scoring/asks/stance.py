"""What a raised machine, or a towed one's tongue, asks of the balance: its moment about the axle that carries it.

That is mass x (hitch from the axle + centre of mass from the hitch); it is held against the moment that the other axle
can give up, with a usual set of weights fitted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Demand
from evener.scoring.core.draws import median
from evener.scoring.core.trace import step
from evener.scoring.mechanics.stance import lift, towing
from evener.scoring.place import masses
from evener.scoring.place.slopes import slope, steepest
from evener.scoring.place.terms import FRONT, ON_DRAWBAR, REAR, Raised

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.place.sizes import Size

TONGUE = "tongue_load"


def raised(setting: Setting, task: Task, full_kg: Array, reach: Size, *, told: Array | None, rear: bool) -> Demand:
    """Return the moment of a full machine, raised, about the axle that carries it [kg m].

    Parameters
    ----------
    setting, task : the job and the task
    full_kg : machine with what it holds [kg]
    reach : its centre of mass from the hitch points [m]
    told : what the customer can tell of that mass, as `Raised` has it
    rear : whether it hangs behind
    """
    steps = (
        step("full machine, raised", {}, (full_kg, "kg"), source="PRACTICE", status="practice"),
        step("centre of mass from the hitch points", {}, (reach.values, "m"), source=reach.source, status=reach.status),
    )
    partly, least = masses.partly_full(setting, task)
    return Demand(
        task.name,
        "front_axle" if rear else "rear_axle",
        full_kg * reach.values,
        full_kg,
        "lever_m",
        "carried",
        steps,
        terms=Raised(
            REAR if rear else FRONT, setting, median(slope(setting, task).values), steepest(setting, task).values, told
        ),
        floor=None if partly is None else (np.asarray(lift.hitch_moment(partly, x=reach.values)), partly),
        least_load=least,
    )


def on_the_drawbar(setting: Setting, task: Task, full_kg: Array, *, told: Array | None) -> Demand:
    """Return the moment about the rear axle of what a towed machine's tongue presses with on the drawbar [kg m].

    The pin is taken to lie under the lower hitch points.

    Parameters
    ----------
    setting, task : the job and the task
    full_kg : machine with what it holds [kg]
    told : what the customer can tell of that mass, as `Raised` has it
    """
    trace = setting.trace()
    by_family = bool(setting.library.rows("allowance", allowance=TONGUE, level=task.family))
    share = setting.allowance(TONGUE, task.family if by_family else "usual")
    tongue = trace.call(towing.tongue_load, "full machine, on its wheels")(full_kg, k=share)
    partly, least = masses.partly_full(setting, task)
    pressed = None if partly is None else np.asarray(towing.tongue_load(partly, k=share))
    none = np.zeros(setting.draws.n)
    usual, worst = median(slope(setting, task).values), steepest(setting, task).values
    return Demand(
        task.name,
        "front_axle",
        none,
        np.asarray(tongue),
        "lever_m",
        "towed",
        trace.steps,
        terms=Raised(REAR, setting, usual, worst, told, ON_DRAWBAR),
        floor=None if pressed is None else (none, pressed),
        least_load=least,
    )
