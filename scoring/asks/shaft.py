"""What a machine's shaft takes: the published average P = a + b w + c F and its peaks, thrown snow, electric power."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.tools import snow_density
from evener.scoring.core.printing import rounded
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.core.unknowns import SCATTER, of_task, of_trade
from evener.scoring.mechanics.engine import drawbar, level, rating, rotary_power, shaft
from evener.scoring.mechanics.work import bales, flow, snow, work_rate
from evener.scoring.place.going import usual_speed
from evener.scoring.place.loads import payload
from evener.scoring.place.sizes import Size, need, size
from evener.scoring.place.variants import rotary_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row
    from evener.scoring.core.trace import Trace

THROWN_SNOW = "snow|mass flow"
GENERATOR = "generator"
DRY_MATTER = "dry matter"
MOISTURE = "the moisture of the crop differs from day to day"


def throughput(setting: Setting, task: Task, speed: Size) -> Size:
    """Return the flow while moving [t/h]: said, or yield x width x speed, or the trade's rate."""
    said = size(setting, task, "throughput_t_h")
    if said is not None:
        return said
    crop = size(setting, task, "yield_t_ha")
    if crop is not None:
        width = need(setting, task, "width_m" if task.width_m is not None else "working_width_m")
        values = np.asarray(work_rate.throughput(speed.values, w=width.values, y=crop.values))
        return _flow(values, crop.text, "EP496", "memory")
    family = setting.family(task)
    if family.batch_low_h is not None and family.batch_high_h is not None:
        return _batch(setting, task, family.batch_low_h, family.batch_high_h)
    if family.throughput_row is None:
        raise CannotSize(task.name, "the crop's yield is not known", "Say yield, or throughput")
    machine, quantity = family.throughput_row.split("|")
    row = setting.library.row("crop_throughput", machine=machine, quantity=quantity)
    efficiency = family.field_efficiency or 1.0
    low, high = (float(flow.flow_while_moving(row[end], eta_f=efficiency)) for end in ("low_t_h", "high_t_h"))
    text = f"usual rate over field efficiency {efficiency:.2f}"
    fact = of_task(task.name, "throughput_t_h", unit="t/h", text=text, source=row["source_id"], status=row["status"])
    return Size(fact.name, setting.unknowns.uniform(fact, low, high), low, high, text, fact.source, fact.status, fact)


def _batch(setting: Setting, task: Task, shortest_h: float, longest_h: float) -> Size:
    """Return the flow of a machine that is emptied or mixed load by load [t/h]."""
    load = payload(setting, task)
    mass = load.mass_kg if load is not None else need(setting, task, "payload_kg").values
    text = f"one load in {rounded(shortest_h)} to {rounded(longest_h)} h"
    fact = of_task(task.name, "time_h", drawn_as=f"batch/{task.family}", asks="throughput_t_h", unit="h", text=text)
    values = np.asarray(flow.batch_flow(mass, t=setting.unknowns.uniform(fact, shortest_h, longest_h)))
    setting.unknowns.would_tell(fact, values)
    return _flow(values, text, "PRACTICE", "practice")


def _flow(values: Array, text: str, source: str, status: str) -> Size:
    return Size("throughput_t_h", values, float(values.min()), float(values.max()), text, source, status)


def grows_with(setting: Setting, task: Task, power: Array, trace: Trace) -> Array:
    """Return the factor on a rating for a crop that is said to run heavier, or for working faster, than is usual [1].

    A machine without a usual flow is fed as fast as its power allows: its rating carries what fills it all day.

    Parameters
    ----------
    setting, task : the job and the task
    power : its rating [kW]
    trace : where its steps go
    """
    one = np.ones(setting.draws.n)
    usual = replace(task, speed_km_h=None, yield_t_ha=None, throughput_t_h=None)
    before, now = usual_speed(setting, usual), usual_speed(setting, task)
    if before is None or now is None:
        return one
    row = (setting.family(task).rotary_row or "").split("|")
    fed = [] if len(row) < 2 else setting.library.rows("rotary_power", machine=row[0], variant=row[1] or None)
    if (task.yield_t_ha is not None or task.throughput_t_h is not None) and fed and fed[0]["c_kwh_per_t"]:
        with_crop = shaft_power(setting, task, now, trace)
        # The same draws, but no unknowns of this job: what it is held against is not open here.
        aside = Setting(setting.job, setting.library, setting.draws)
        try:
            in_usual = shaft_power(aside, usual, before, trace)
        except CannotSize:
            load = trace.call(rating.load_held)(setting.job.policy.reserve_power)
            needed = trace.call(drawbar.rated_power_needed, "what goes through it, all day")(with_crop, X=load)
            return np.asarray(trace.call(level.change, "what goes through it over the rating")(needed, P_0=power))
        return np.asarray(trace.call(level.change, "what goes through it over the usual")(with_crop, P_0=in_usual))
    shares = setting.library.allowance("speed_share")
    if task.speed_km_h is None or setting.family(task).group not in shares["applies_to"].split(";"):
        return one
    share = setting.allowance("speed_share")
    return np.asarray(trace.call(level.faster)(now.values, S_0=before.values, s=share))


def generator(setting: Setting, task: Task, trace: Trace) -> Array | None:
    """Return the PTO power a generator asks for the electric power it gives [kW], or None where that is not known."""
    output = size(setting, task, "electric_power_kw") if task.family == GENERATOR else None
    if output is None:
        return None
    rows = setting.library.rows("pto_power_rules", implement="generator, PTO")
    per_kw = sorted((row["pto_power_kw_per_kw_electric"], row["source_id"], row["status"]) for row in rows)
    (least, _, _), (most, source, status) = per_kw[0], per_kw[-1]
    fact = of_trade("generator/per_kw", source=source, status=status, stays=SCATTER)
    power = trace.call(shaft.generator_power, source=source, status=status)
    return np.asarray(power(output.values, k=setting.unknowns.uniform(fact, least, most)))


def shaft_power(setting: Setting, task: Task, speed: Size, trace: Trace) -> Array:
    """Return the power the machine's shaft takes at its peaks [kW]."""
    family = setting.family(task)
    mean = (_thrown_snow if family.rotary_row == THROWN_SNOW else _rotary)(setting, task, speed, trace)
    fact = of_trade(f"peak/{family.family}", source=family.source_id, status=family.status)
    factor = setting.unknowns.published(fact, family.peak_factor or 1.0, family.peak_spread_pct)
    return np.asarray(trace.call(shaft.peak_power, "shaft")(mean, k=factor))


def _thrown_snow(setting: Setting, task: Task, speed: Size, trace: Trace) -> Array:
    width, depth = need(setting, task, "working_width_m"), need(setting, task, "snow_depth_m")
    density, source, status = snow_density(setting, task)
    mass_flow = trace.call(snow.blower_flow, "snow thrown", source=source, status=status)(
        density, w=width.values, h=depth.values, S=speed.values
    )
    throw, efficiency = setting.allowance("snow_throw_speed"), setting.allowance("snow_blower_efficiency")
    return np.asarray(trace.call(snow.throw_power)(mass_flow, v_t=throw, eta=efficiency))


def _rotary(setting: Setting, task: Task, speed: Size, trace: Trace) -> Array:
    machine, variant, *practice = (rotary_row(setting, task) or "").split("|")
    scope = practice[0] if practice else "standard"
    row = setting.library.row("rotary_power", machine=machine, variant=variant or None, scope=scope)
    printed = {"source": row["source_id"], "status": row["status"]}
    a, b, c = _coefficients(setting, row)
    by_width = row["b_low_kw_per_m"] is not None or bool(row["b_kw_per_m"])
    width = need(setting, task, "working_width_m").values if by_width else 0.0
    through: Array | float = 0.0
    if c != 0:
        through = throughput(setting, task, speed).values
        if (row["throughput_basis"] or "").startswith(DRY_MATTER):
            through = _dried(setting, task, through, trace)
    fact = of_trade(f"rotary_power/{machine}|{variant}", stays=SCATTER, **printed)
    spread = setting.unknowns.published(fact, 1.0, row["range_pct"])
    named = f"{machine}, {variant}" if variant else machine
    mean = trace.call(rotary_power.rotary_power, named, **printed)(a, b=b, w=width, c=c, F=through)
    return np.asarray(trace.call(rotary_power.scattered_power, f"+-{row['range_pct'] or 0:.0f} %")(mean, k=spread))


def _dried(setting: Setting, task: Task, wet: Array, trace: Trace) -> Array:
    """Return the dry matter in a flow as it lies [t/h], for a row that counts dry matter."""
    family = setting.family(task)
    fact = of_trade(f"dry_matter/{family.family}", source=family.source_id, status=family.status, stays=MOISTURE)
    share = setting.unknowns.uniform(fact, family.dry_matter_low or 1.0, family.dry_matter_high or 1.0)
    dry = trace.call(bales.dry_matter, "the row counts dry matter", source="PRACTICE", status="practice")
    return np.asarray(dry(wet, dm=share))


def _coefficients(setting: Setting, row: Row) -> tuple[float, Array | float, float]:
    """Return a, b and c; of a row that prints only a band of b, the draws of b."""
    low = row["b_low_kw_per_m"]
    if low is None:
        return row["a_kw"] or 0.0, row["b_kw_per_m"] or 0.0, row["c_kwh_per_t"] or 0.0
    key = f"rotary_power/{row['machine']}|{row['variant']}/b"
    fact = of_trade(key, unit="kW/m", source=row["source_id"], status=row["status"], stays=SCATTER)
    return 0.0, setting.unknowns.uniform(fact, low, row["b_high_kw_per_m"] or low), 0.0
