"""Rear lift, loader lift and loader height: full loads brought to the points where tractors are rated."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Demand, nothing
from evener.scoring.core.trace import Step, step
from evener.scoring.place import loads
from evener.scoring.place.sizes import Size, need, size

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting

TEST_POINT_M = 0.61


def reach_behind(setting: Setting, task: Task) -> Size:
    """Return how far the full machine's centre of mass lies behind the hitch balls [m]."""
    if task.family == "bale_spear" and task.centre_of_mass_m is None:
        width, _, _ = loads.bale_size(setting, task)
        gap = setting.allowance("spear_clearance")
        values = width.values / 2 + gap
        low, high = float(values.min()), float(values.max())
        return Size(
            "centre_of_mass_m", values, low, high, "half the bale and the gap", "PRACTICE", "practice", width.open
        )
    found = size(setting, task, "centre_of_mass_m")
    if found is not None:
        return found
    values = np.full(setting.draws.n, TEST_POINT_M)
    return Size(
        "centre_of_mass_m", values, TEST_POINT_M, TEST_POINT_M, "test point", "PRACTICE", "practice", open=False
    )


def rear_lift(setting: Setting, task: Task) -> Demand:
    """Return the lift asked at the hitch test point, 610 mm behind the balls [kg].

    A linkage lifts less the further back the load sits: F(x) = F_0 / (1 + c x), with c [1/m] of the tractor. The load m
    at x asks of F(0.61) therefore m (1 + c x) / (1 + 0.61 c); `alpha + beta c` is its numerator.
    """
    empty = loads.machine(setting, task)
    full = loads.payload(setting, task)
    reach = reach_behind(setting, task)
    mass = empty.mass_kg + (full.mass_kg if full else 0.0)
    held = 1 - setting.job.policy.reserve_lift
    steps = [*empty.steps, *(full.steps if full else ())]
    steps.append(
        step(
            "full machine = empty + payload",
            {"empty": (empty.mass_kg, "kg"), "payload": (full.mass_kg if full else 0.0, "kg")},
            (mass, "kg"),
            source="PRACTICE",
            status="practice",
        )
    )
    steps.append(
        step("centre of mass behind the hitch balls", {}, (reach.values, "m"), source=reach.source, status=reach.status)
    )
    steps.append(
        step(
            "load with the reserve kept in hand = m / (1 - reserve)",
            {"m": (mass, "kg"), "reserve": (setting.job.policy.reserve_lift, "1")},
            (mass / held, "kg"),
            source="PRACTICE",
            status="practice",
        )
    )
    return Demand(
        task.name, "rear_lift", mass / held, mass * reach.values / held, "link_per_m", "carried", tuple(steps)
    )


def loader(setting: Setting, task: Task) -> tuple[Demand, Demand]:
    """Return loader lift at the pin at full height [kg] and the pin height asked [m]."""
    tool = loads.machine(setting, task)
    load = loads.payload(setting, task)
    mass = tool.mass_kg + (load.mass_kg if load else 0.0)
    ahead, where = load_centre(setting, task)
    lever = setting.allowance("loader_lever")
    height, low, height_steps = _height(setting, task)
    gain = np.where(low, setting.allowance("loader_low_lift_gain", "feed"), 1.0)
    held = 1 - setting.job.policy.reserve_lift
    asked = mass * (1 + lever * ahead) / gain / held
    steps = [*tool.steps, *(load.steps if load else ())]
    steps.append(step(f"load centre ahead of the pin: {where}", {}, (ahead, "m"), source="PRACTICE", status="practice"))
    steps.append(
        step(
            "lift asked at the pin at full height = (tool + load) (1 + k x) / gain / (1 - reserve)",
            {
                "tool": (tool.mass_kg, "kg"),
                "load": (load.mass_kg if load else 0.0, "kg"),
                "k": (lever, "1/m"),
                "x": (ahead, "m"),
                "gain at low height": (gain, "1"),
                "reserve": (setting.job.policy.reserve_lift, "1"),
            },
            (asked, "kg"),
            source="PRACTICE",
            status="practice",
        )
    )
    zero = nothing(setting.draws.n)
    return (
        Demand(task.name, "loader_lift", asked, zero, None, "carried", tuple(steps)),
        Demand(task.name, "loader_height", height, zero, None, "carried", tuple(height_steps)),
    )


def load_centre(setting: Setting, task: Task) -> tuple[Array, str]:
    """Return how far the middle of a loader's load lies ahead of the pin [m], and how that is known."""
    if task.centre_of_mass_m is not None:
        return need(setting, task, "centre_of_mass_m").values, "said"
    if task.family == "bale_spear":
        width, _, _ = loads.bale_size(setting, task)
        return width.values / 2 + setting.allowance("spear_clearance"), "half the bale's width and the gap"
    if task.family == "pallet_fork":
        return setting.allowance("pallet_load_centre"), "half a fork tine"
    return setting.allowance("bucket_load_centre"), "middle of a heaped bucket"


def _height(setting: Setting, task: Task) -> tuple[Array, Mask, list[Step]]:
    """Return the pin height asked [m], where it is low enough for the loader's low-height lift, and the steps."""
    carry = setting.allowance("carry_height")
    carry_top = setting.library.allowance("carry_height")["high"]
    n = setting.draws.n
    if task.stack_high is not None:
        layers = np.round(need(setting, task, "stack_high").values)
        rise, depth = _layer(setting, task)
        high = (layers - 1) * rise + depth / 2 + setting.allowance("stack_clearance")
        height = np.asarray(np.where(layers <= 1, carry, high))
        written = step(
            "pin height = (layers - 1) x rise + half a layer + clearance; one layer: carrying height",
            {"layers": (layers, "1"), "rise per layer": (rise, "m"), "layer": (depth, "m")},
            (height, "m"),
            source="PRACTICE",
            status="practice",
        )
        return height, layers <= 1, [written]
    if task.lift_height_m is not None:
        up = need(setting, task, "lift_height_m")
        reach = setting.allowance("dump_reach") if task.family in {"loader_bucket", "grapple"} else np.zeros(n)
        height = up.values + reach
        written = step(
            "pin height = height asked + reach of a tipped bucket below its pin",
            {"height asked": (up.values, "m"), "reach": (reach, "m")},
            (height, "m"),
            source="PRACTICE",
            status="practice",
        )
        return height, height <= carry_top, [written]
    written = step("pin height for carrying and feeding", {}, (carry, "m"), source="PRACTICE", status="practice")
    return carry, np.ones(n, bool), [written]


def _layer(setting: Setting, task: Task) -> tuple[Array, Array]:
    """Return the rise per layer and the thickness of one layer [m]."""
    if task.family == "bale_spear":
        first, second, round_bale = loads.bale_size(setting, task)
        if round_bale:
            return second.values * setting.allowance("stack_spacing", "round"), second.values
        return first.values, first.values
    layer = need(setting, task, "lift_height_m").values
    return layer, layer
