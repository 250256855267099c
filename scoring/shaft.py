"""The published average power of a machine's shaft, P = a + b w + c F, and its peaks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.loads import density_of
from evener.scoring.mechanics import rotary_power, snow, work_rate
from evener.scoring.setting import CannotSize
from evener.scoring.sizes import Size, key, need, size
from evener.scoring.steps import Step, step

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.draws import Array
    from evener.scoring.setting import Row, Setting

THROWN_SNOW = "snow|mass flow"
SETTLED_SNOW = "snow, settled on ground"


def throughput(setting: Setting, task: Task, speed: Size) -> Size:
    """Return the flow while moving [t/h]: said, or yield x width x speed, or the trade's rate."""
    said = size(setting, task, "throughput_t_h")
    if said is not None:
        return said
    crop = size(setting, task, "yield_t_ha")
    if crop is not None:
        width = need(setting, task, "width_m" if task.width_m is not None else "working_width_m")
        values = np.asarray(work_rate.throughput(speed.values, w=width.values, y=crop.values))
        return Size(
            "throughput_t_h",
            values,
            float(values.min()),
            float(values.max()),
            crop.text,
            "EP496",
            "memory",
            open=crop.open,
        )
    family = setting.family(task)
    if family.throughput_row is None:
        raise CannotSize(task.name, "the crop's yield is not known", "Say yield, or throughput")
    machine, quantity = family.throughput_row.split("|")
    row = setting.library.row("crop_throughput", machine=machine, quantity=quantity)
    efficiency = family.field_efficiency or 1.0
    low, high = row["low_t_h"] / efficiency, row["high_t_h"] / efficiency
    values = setting.draws.uniform(key(task, "throughput_t_h"), low, high)
    text = f"usual rate over field efficiency {efficiency:.2f}"
    return Size("throughput_t_h", values, low, high, text, row["source_id"], row["status"], open=False)


def shaft_power(setting: Setting, task: Task, speed: Size) -> tuple[Array, list[Step]]:
    """Return the power the machine's shaft takes at its peaks [kW], with the steps."""
    family = setting.family(task)
    mean, steps = (_thrown_snow if family.rotary_row == THROWN_SNOW else _rotary)(setting, task, speed)
    peak = family.peak_factor or 1.0
    factor = setting.draws.published(f"peak/{family.family}", peak, family.peak_spread_pct)
    steps.append(
        step(
            "shaft peaks = average x peak factor",
            {"average": (mean, "kW"), "peak factor": (factor, "1")},
            (mean * factor, "kW"),
            source="PRACTICE",
            status="practice",
        )
    )
    return mean * factor, steps


def _thrown_snow(setting: Setting, task: Task, speed: Size) -> tuple[Array, list[Step]]:
    width, depth = need(setting, task, "working_width_m"), need(setting, task, "snow_depth_m")
    name = task.material or SETTLED_SNOW
    low, high, source, status = density_of(setting, task, name)
    density = setting.draws.uniform(f"density/{name}", low, high)
    flow = snow.blower_flow(density, w=width.values, h=depth.values, S=speed.values)
    throw, efficiency = setting.allowance("snow_throw_speed"), setting.allowance("snow_blower_efficiency")
    power = np.asarray(snow.throw_power(flow, v_t=throw, eta=efficiency))
    steps = [
        step(
            "snow thrown = density x width x depth x speed",
            {
                f"density of {name}": (density, "kg/m3"),
                "width": (width.values, "m"),
                "snow_depth_m": (depth.values, "m"),
                "speed": (speed.values, "km/h"),
            },
            (np.asarray(flow), "kg/s"),
            source=source,
            status=status,
        ),
        step(
            "P = m v^2 / (2000 x efficiency)",
            {"m": (np.asarray(flow), "kg/s"), "v": (throw, "m/s"), "efficiency": (efficiency, "1")},
            (power, "kW"),
            source="PRACTICE",
            status="practice",
        ),
    ]
    return power, steps


def _rotary(setting: Setting, task: Task, speed: Size) -> tuple[Array, list[Step]]:
    machine, variant, *practice = _rotary_variant(setting, task).split("|")
    scope = practice[0] if practice else "standard"
    row = setting.library.row("rotary_power", machine=machine, variant=variant or None, scope=scope)
    a, b, c, b_draws = _coefficients(setting, row)
    steps, inputs = [], {}
    width = flow = None
    if b != 0 or b_draws is not None:
        width = need(setting, task, "working_width_m")
        inputs["w"] = (width.values, "m")
    if c != 0:
        flow = throughput(setting, task, speed)
        inputs["F"] = (flow.values, "t/h")
    spread = setting.draws.published(f"rotary_power/{machine}|{variant}", 1.0, row["range_pct"])
    mean = rotary_power.rotary_power(
        a,
        b=b if b_draws is None else b_draws,
        w=width.values if width else 0.0,
        c=c,
        F=flow.values if flow else 0.0,
    )
    named = f"{machine}, {variant}" if variant else machine
    mean = np.broadcast_to(mean, spread.shape) * spread
    steps.append(
        step(
            f"P_shaft = {a:g} + {'b' if b_draws is not None else format(b, 'g')} w + {c:g} F, for {named}",
            inputs,
            (mean, "kW"),
            source=row["source_id"],
            status=row["status"],
        )
    )
    return mean, steps


def _coefficients(setting: Setting, row: Row) -> tuple[float, float, float, Array | None]:
    """Return a, b, c and, for a row that prints only a band of b, the draws of b."""
    if row["b_low_kw_per_m"] is None:
        return row["a_kw"] or 0.0, row["b_kw_per_m"] or 0.0, row["c_kwh_per_t"] or 0.0, None
    low = row["b_low_kw_per_m"]
    high = row["b_high_kw_per_m"] or low
    return 0.0, 0.0, 0.0, setting.draws.uniform(f"rotary_power/{row['machine']}|{row['variant']}/b", low, high)


def _rotary_variant(setting: Setting, task: Task) -> str:
    """Return the published row for this machine: a sickle mower-conditioner takes less than a disc one."""
    row = setting.family(task).rotary_row or ""
    record = setting.record(task)
    if record is not None and task.family == "mower_conditioner" and "sickle" in record.label:
        return "mower-conditioner|cutterbar"
    return row
