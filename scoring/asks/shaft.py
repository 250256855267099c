"""What a machine's shaft takes: the published average P = a + b w + c F and its peaks, thrown snow, electric power."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.setting import CannotSize
from evener.scoring.core.trace import Step, applied, step
from evener.scoring.mechanics.engine import rotary_power
from evener.scoring.mechanics.work import bales, snow, work_rate
from evener.scoring.place.loads import density_of, payload
from evener.scoring.place.sizes import Size, key, need, size
from evener.scoring.place.variants import rotary_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting

THROWN_SNOW = "snow|mass flow"
GENERATOR = "generator"
DRY_MATTER = "dry matter"
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
    if family.batch_low_h is not None and family.batch_high_h is not None:
        return _batch(setting, task, family.batch_low_h, family.batch_high_h)
    if family.throughput_row is None:
        raise CannotSize(task.name, "the crop's yield is not known", "Say yield, or throughput")
    machine, quantity = family.throughput_row.split("|")
    row = setting.library.row("crop_throughput", machine=machine, quantity=quantity)
    efficiency = family.field_efficiency or 1.0
    low, high = row["low_t_h"] / efficiency, row["high_t_h"] / efficiency
    values = setting.draws.uniform(key(task, "throughput_t_h"), low, high)
    text = f"usual rate over field efficiency {efficiency:.2f}"
    return Size("throughput_t_h", values, low, high, text, row["source_id"], row["status"], open=False)


def _batch(setting: Setting, task: Task, shortest_h: float, longest_h: float) -> Size:
    """Return the flow of a machine that is emptied or mixed load by load [t/h]."""
    load = payload(setting, task)
    mass = load.mass_kg if load is not None else need(setting, task, "payload_kg").values
    values = mass / 1000 / setting.draws.uniform(f"batch/{task.family}", shortest_h, longest_h)
    text = f"one load in {shortest_h * 60:.0f} to {longest_h * 60:.0f} minutes"
    low, high = float(values.min()), float(values.max())
    return Size("throughput_t_h", values, low, high, text, "PRACTICE", "practice", open=False)


def generator(setting: Setting, task: Task) -> tuple[Array, list[Step]] | None:
    """Return the PTO power a generator asks for the electric power it gives [kW], or None where that is not known."""
    output = size(setting, task, "electric_power_kw")
    if task.family != GENERATOR or output is None:
        return None
    row = setting.library.row("pto_power_rules", implement="generator, PTO", size_class="any")
    power = output.values * row["pto_power_kw_per_kw_electric"]
    inputs: dict[str, tuple[Array | float | str, str]] = {
        "electric_power_kw": (output.values, "kW"),
        "kW for each kW electric": (row["pto_power_kw_per_kw_electric"], "1"),
    }
    formula = "power = electric power x what the rule asks for each kW"
    return power, [step(formula, inputs, (power, "kW"), source=row["source_id"], status=row["status"])]


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
            method="snow.blower_flow",
        ),
        step(
            "P = m v^2 / (2000 x efficiency)",
            {"m": (np.asarray(flow), "kg/s"), "v": (throw, "m/s"), "efficiency": (efficiency, "1")},
            (power, "kW"),
            source="PRACTICE",
            status="practice",
            method="snow.throw_power",
        ),
    ]
    return power, steps


def _rotary(setting: Setting, task: Task, speed: Size) -> tuple[Array, list[Step]]:
    machine, variant, *practice = (rotary_row(setting, task) or "").split("|")
    scope = practice[0] if practice else "standard"
    row = setting.library.row("rotary_power", machine=machine, variant=variant or None, scope=scope)
    a, b, c, b_draws = _coefficients(setting, row)
    steps: list[Step] = []
    inputs: dict[str, tuple[Array | float | str, str]] = {}
    width, flow = None, None
    if b != 0 or b_draws is not None:
        width = need(setting, task, "working_width_m")
        inputs["w"] = (width.values, "m")
    if c != 0:
        flow = throughput(setting, task, speed).values
        basis = row["throughput_basis"] or ""
        if basis.startswith(DRY_MATTER):
            flow, written = _dried(setting, task, flow)
            steps.append(written)
        inputs["F"] = (flow, "t/h")
    spread = setting.draws.published(f"rotary_power/{machine}|{variant}", 1.0, row["range_pct"])
    mean = rotary_power.rotary_power(
        a,
        b=b if b_draws is None else b_draws,
        w=width.values if width else 0.0,
        c=c,
        F=0.0 if flow is None else flow,
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
            method="rotary_power.rotary_power",
        )
    )
    return mean, steps


def _dried(setting: Setting, task: Task, wet: Array) -> tuple[Array, Step]:
    """Return the dry matter in a flow as it lies [t/h], for a row that counts dry matter."""
    family = setting.family(task)
    low, high = family.dry_matter_low or 1.0, family.dry_matter_high or 1.0
    share = setting.draws.uniform(f"dry_matter/{family.family}", low, high)
    dry = np.asarray(bales.dry_matter(wet, dm=share))
    written = applied(
        "bales.dry_matter",
        {"m": (wet, "t/h"), "dm": (share, "1")},
        (dry, "t/h"),
        what="the row counts dry matter",
        source="PRACTICE",
        status="practice",
    )
    return dry, written


def _coefficients(setting: Setting, row: Row) -> tuple[float, float, float, Array | None]:
    """Return a, b, c and, for a row that prints only a band of b, the draws of b."""
    if row["b_low_kw_per_m"] is None:
        return row["a_kw"] or 0.0, row["b_kw_per_m"] or 0.0, row["c_kwh_per_t"] or 0.0, None
    low = row["b_low_kw_per_m"]
    high = row["b_high_kw_per_m"] or low
    return 0.0, 0.0, 0.0, setting.draws.uniform(f"rotary_power/{row['machine']}|{row['variant']}/b", low, high)
