"""Rear lift, loader lift and loader height: full loads brought to the points where tractors are rated."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Demand, nothing
from evener.scoring.mechanics.stance import lift
from evener.scoring.mechanics.stance import loader as front_loader
from evener.scoring.place import loader_tools, loads, masses
from evener.scoring.place.machines import modelled
from evener.scoring.place.sizes import Size, need, size

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace

TEST_POINT_M = 0.61
TIPPED = frozenset({"loader_bucket", "grapple"})
HELD_IN_THE_MIDDLE = 0.5


def reach_behind(setting: Setting, task: Task) -> Size:
    """Return how far the full machine's centre of mass lies behind the hitch balls [m]."""
    if task.family == "bale_spear" and task.centre_of_mass_m is None:
        width, _, _ = loads.bale_size(setting, task)
        values = np.asarray(lift.bale_reach(width.values, e=setting.allowance("spear_clearance")))
        low, high = float(values.min()), float(values.max())
        return Size("centre_of_mass_m", values, low, high, "half the bale and the gap", "PRACTICE", "practice")
    record = setting.record(task)
    if task.centre_of_mass_m is None and (record is None or record.centre_of_mass_m is None):
        found = modelled(setting, task, "reach")
        if found is not None:
            low, high = float(found.values.min()), float(found.values.max())
            return Size("centre_of_mass_m", found.values, low, high, found.text, "PRACTICE", "practice")
    centre = size(setting, task, "centre_of_mass_m")
    if centre is not None:
        return centre
    values = np.full(setting.draws.n, TEST_POINT_M)
    return Size("centre_of_mass_m", values, TEST_POINT_M, TEST_POINT_M, "test point", "PRACTICE", "practice")


def rear_lift(setting: Setting, task: Task) -> Demand:
    """Return the lift asked at the hitch test point, 610 mm behind the balls [kg].

    A linkage lifts less the further back the load sits: F(x) = F_0 / (1 + c x), with c [1/m] of the tractor. The load m
    at x asks of F(0.61) therefore m (1 + c x) / (1 + 0.61 c); `alpha + beta c` is its numerator.
    """
    trace = setting.trace()
    mass = masses.full(setting, task, trace)
    reach = reach_behind(setting, task)
    text = f"centre of mass behind the hitch balls ({reach.text})"
    trace.given(text, reach.values, "m", source=reach.source, status=reach.status)
    asked = trace.call(lift.lift_with_reserve)(mass, r=setting.job.policy.reserve_lift)
    moment = trace.call(lift.hitch_moment)(asked, x=reach.values)
    partly, least = masses.partly_full(setting, task)
    floor = None
    if partly is not None:
        lighter = lift.lift_with_reserve(partly, r=setting.job.policy.reserve_lift)
        floor = (np.asarray(lighter), np.asarray(lift.hitch_moment(lighter, x=reach.values)))
    return Demand(
        task.name,
        "rear_lift",
        np.asarray(asked),
        np.asarray(moment),
        "link_per_m",
        "carried",
        trace.steps,
        floor=floor,
        least_load=least,
    )


def loader(setting: Setting, task: Task) -> tuple[Demand, Demand]:
    """Return loader lift at the pin at full height [kg] and the pin height asked [m]."""
    zero, trace, height_trace = nothing(setting.draws.n), setting.trace(), setting.trace()
    mass, grows = loader_tools.lifted(setting, task, trace)
    ahead, where = load_centre(setting, task)
    height, low = _height(setting, task, height_trace)
    gain = np.where(low, setting.allowance("loader_low_lift_gain", "feed"), 1.0)
    trace.given(f"load centre ahead of the pin: {where}", ahead, "m", source="PRACTICE", status="practice")
    what = "share of the pin's lift left there"
    left = trace.call(front_loader.lift_ahead_of_pin, what)(1.0, x=ahead, k=setting.allowance("loader_lever"))
    reserve = setting.job.policy.reserve_lift
    asked = trace.call(front_loader.pin_lift_asked)(mass, share=left, gain=gain, r=reserve)
    per_kg = np.asarray(front_loader.pin_lift_asked(grows, share=left, gain=gain, r=reserve))
    depends = "mass_kg" if np.any(grows) else None
    least, floor = loads.least_share(setting, task), None
    if least < 1.0 and loads.payload(setting, task) is not None:
        part, _ = loader_tools.lifted(setting, task, setting.trace(), share=least)
        floor = np.asarray(front_loader.pin_lift_asked(part, share=left, gain=gain, r=reserve)), per_kg
    lift_asked = Demand(
        task.name,
        "loader_lift",
        np.asarray(asked),
        per_kg,
        depends,
        "carried",
        trace.steps,
        floor=floor,
        least_load=least if floor is not None else 1.0,
    )
    return (
        lift_asked,
        Demand(task.name, "loader_height", height, zero, None, "carried", height_trace.steps),
    )


def load_centre(setting: Setting, task: Task) -> tuple[Array, str]:
    """Return how far the middle of a loader's load lies ahead of the pin [m], and how that is known."""
    if task.centre_of_mass_m is not None:
        return need(setting, task, "centre_of_mass_m").values, "said"
    if task.family == "bale_spear":
        return reach_behind(setting, task).values, "half the bale's width and the gap"
    if task.family == "pallet_fork":
        return setting.allowance("pallet_load_centre"), "half a fork tine"
    return setting.allowance("bucket_load_centre"), "middle of a heaped bucket"


def _height(setting: Setting, task: Task, trace: Trace) -> tuple[Array, Mask]:
    """Return the pin height asked [m], and where it is low enough for the loader's low-height lift."""
    carry = setting.allowance("carry_height")
    n = setting.draws.n
    if task.stack_high is not None:
        layers = np.round(need(setting, task, "stack_high").values)
        rise, thick = _layer(setting, task)
        what = "top of the stack; one layer: carrying height"
        top = trace.call(front_loader.height_to_stack, what)(
            layers, h=rise, q=HELD_IN_THE_MIDDLE, t=thick, e=setting.allowance("stack_clearance")
        )
        return np.asarray(np.where(layers <= 1, carry, top)), layers <= 1
    if task.lift_height_m is not None:
        up = need(setting, task, "lift_height_m")
        hangs = setting.allowance("dump_reach") if task.family in TIPPED else np.zeros(n)
        height = np.asarray(trace.call(front_loader.height_to_tip)(up.values, d=hangs))
        return height, height <= setting.library.allowance("carry_height")["high"]
    trace.given("pin height for carrying and feeding", carry, "m", source="PRACTICE", status="practice")
    return carry, np.ones(n, bool)


def _layer(setting: Setting, task: Task) -> tuple[Array, Array]:
    """Return the rise per layer and the thickness of one layer [m]."""
    if task.family == "bale_spear":
        first, second, round_bale = loads.bale_size(setting, task)
        if round_bale:
            nested = front_loader.nested_rise(second.values, k=setting.allowance("stack_spacing", "round"))
            return np.asarray(nested), second.values
        return first.values, first.values
    layer = need(setting, task, "lift_height_m").values
    return layer, layer
