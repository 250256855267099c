"""Checks of one tractor beside its margins: permitted axle loads, PTO type, hitch band, towing rules, shaky ground."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks import tow
from evener.scoring.combinations.loader_stance import loader_stance
from evener.scoring.core.draws import quantile
from evener.scoring.core.printing import Units, show
from evener.scoring.core.setting import CannotSize
from evener.scoring.mechanics.stance import balance
from evener.scoring.mechanics.tyres import grade
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place.going import speed_of
from evener.scoring.place.sizes import slope
from evener.scoring.place.terms import Raised

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer

PTO_EDITION = "ISO 500-1:2014"
PTO_TYPE = {540: "1", 1000: "2"}
HITCH_EDITION = "ISO 730:2009 (+A1:2014)"
STEEP_TO_TOW = 0.10
HEAVY_TOW = 0.5


def checks(sizing: Sizing, offer: Offer, units: Units) -> list[str]:
    """Return what to check about the first tractor, each once.

    Parameters
    ----------
    sizing : the job
    offer : the tractor
    units : units to write in
    """
    said: list[str] = []
    for task in sizing.tasks:
        try:
            said += (one for demand in task.demands for one in _axles(sizing, offer, demand, units))
            said += list(_loader(sizing, offer, task, units))
        except OutOfRange as reason:
            said.append(f"{task.task}: axle loads could not be worked out ({reason})")
        for demand in task.demands:
            said += (f"{offer.tractor.label}: {note}." for note in offer.on(demand).notes)
        said += _pto(sizing, offer, task, units)
        said += _towing(sizing, offer, task, units)
    said += _hitch(sizing, offer, units)
    return list(dict.fromkeys(said))


def _axles(sizing: Sizing, offer: Offer, demand: Demand, units: Units) -> Iterator[str]:
    """Say where a raised machine, with the weights it needs, passes a permitted load; the balance must close."""
    terms, tractor = demand.terms, offer.stands(sizing.setting)
    if not isinstance(terms, Raised) or tractor is None:
        return
    reach, full = demand.alpha / demand.beta, demand.beta
    c, b, nothing = tractor.behind_m, tractor.base_m, np.zeros_like(full)
    own = {"T_L": tractor.mass_kg, "T_V": tractor.front_kg, "T_H": tractor.rear_kg, "b": b, "c": c}
    if terms.rear:
        ahead = tractor.weights_ahead_m
        weights = np.asarray(
            balance.front_ballast(full, T_L=tractor.mass_kg, T_V=tractor.front_kg, a=ahead, b=b, c=c, d=reach)
        )
        loads = balance.axle_loads(**own, G_V=weights, G_H=full, a=ahead, d=reach)
    else:
        loads = balance.axle_loads(**own, G_V=full, G_H=nothing, a=tractor.ahead_m + reach, d=nothing)
    record = offer.tractor
    limits = (
        ("front axle", loads.front, record.front_axle_max_kg),
        ("rear axle", loads.rear, record.rear_axle_max_kg),
        ("total", loads.total, record.max_mass_kg),
    )
    for where, values, limit in limits:
        load = quantile(np.asarray(values), sizing.confidence)
        if limit is not None and load > limit:
            yield (
                f"{demand.task}: with the machine raised {record.label} stands with {show(load, 'kg', units)} on "
                f"{'its wheels' if where == 'total' else f'its {where}'}, and {show(limit, 'kg', units)} are permitted."
            )


def _loader(sizing: Sizing, offer: Offer, task: TaskDemands, units: Units) -> Iterator[str]:
    """Say where a loader's load tips the tractor without a counterweight, or loads its front axle beyond the limit."""
    if not any(demand.axis == "loader_lift" for demand in task.demands):
        return
    job_task = next(one for one in sizing.setting.job.tasks if one.name == task.task)
    try:
        stance = loader_stance(sizing.setting, offer, job_task)
    except CannotSize:
        return
    if stance is None:
        return
    sure = sizing.confidence
    load, tips = quantile(stance.load_kg, sure), quantile(stance.tipping_kg, 1 - sure)
    if load > tips:
        yield (
            f"{task.task}: without a counterweight {offer.tractor.label} can tip forward at about "
            f"{show(tips, 'kg', units)} in the tool, and this load is up to {show(load, 'kg', units)}."
        )
    limit, front = offer.tractor.front_axle_max_kg, quantile(stance.front_kg, sure)
    if limit is not None and front > limit:
        yield (
            f"{task.task}: with the loader full and the counterweight fitted the front axle of {offer.tractor.label} "
            f"carries up to {show(front, 'kg', units)}, and {show(limit, 'kg', units)} are permitted."
        )


def _pto(sizing: Sizing, offer: Offer, task: TaskDemands, units: Units) -> Iterator[str]:
    """Say where a task asks more of a shaft than its type is for."""
    gate = next((gate for gate in task.gates if gate.axis == "pto_speed"), None)
    power = next((demand for demand in task.demands if demand.axis == "pto_power"), None)
    if gate is None or power is None:
        return
    shared = {int(speed) for speed in gate.accepts} & set(offer.tractor.pto_speeds_rpm) & PTO_TYPE.keys()
    if not shared:
        return
    speed = max(shared)
    row = sizing.setting.library.row("pto_types", type=PTO_TYPE[speed], edition=PTO_EDITION)
    of_maker = [one for one in power.estimates if one.basis != "computed"]
    if not of_maker:
        return
    asked = quantile(of_maker[0].alpha, 0.5)
    if asked > row["max_pto_power_kw"]:
        yield (
            f"{task.task}: asks about {show(asked, 'kW', units)} at {speed} rpm, and a PTO shaft of type "
            f"{row['type']} is for up to {show(row['max_pto_power_kw'], 'kW', units)}: use a faster shaft or a clutch "
            "that slips."
        )


def _hitch(sizing: Sizing, offer: Offer, units: Units) -> Iterator[str]:
    """Say where the tractor's power lies outside the band of its linkage category."""
    category, power = offer.tractor.hitch_category, offer.tractor.pto_power_kw
    mounted = any(gate.axis == "hitch_category" for task in sizing.tasks for gate in task.gates)
    rows = sizing.setting.library.rows("hitch_categories", category=category, edition=HITCH_EDITION)
    if not mounted or power is None or not rows:
        return
    low, high = rows[0]["pto_power_kw_min"] or 0.0, rows[0]["pto_power_kw_max"]
    if not low <= power <= high:
        where = "above" if power > high else "below"
        yield (
            f"{offer.tractor.label} has {show(power, 'kW', units)} at the PTO, {where} the "
            f"{show(low, 'kW', units)} to {show(high, 'kW', units)} that linkage category {category} is for: check its "
            "pins and balls."
        )


def _towing(sizing: Sizing, offer: Offer, task: TaskDemands, units: Units) -> Iterator[str]:
    """Say where a towed mass passes what may be towed without brakes, and where it pushes downhill."""
    towed = next((demand for demand in task.demands if demand.axis == "tow_mass"), None)
    if towed is None:
        return
    setting = sizing.setting
    job_task = next(one for one in setting.job.tasks if one.name == task.task)
    mass = quantile(towed.alpha, sizing.confidence)
    if tow.UNBRAKED in tow.brakes_of(setting, job_task):
        row = tow.rule(setting, tow.UNBRAKED, 0.0)
        speed = speed_of(setting, job_task)
        if row["towed_mass_max_kg"] is not None and mass > row["towed_mass_max_kg"]:
            yield (
                f"{task.task}: up to {show(mass, 'kg', units)} are towed; one rule allows "
                f"{show(row['towed_mass_max_kg'], 'kg', units)} without brakes. The law of the place decides."
            )
        if speed is not None and speed.high > row["speed_max_km_h"]:
            yield (
                f"{task.task}: without brakes towing is for up to {show(row['speed_max_km_h'], 'km/h', units)}; "
                f"this is done at {show(speed.high, 'km/h', units)}."
            )
    steepest, own = slope(setting, job_task).high, offer.mass.value
    if steepest >= STEEP_TO_TOW and own is not None and mass > own * HEAVY_TOW:
        push = float(np.asarray(grade.grade_force(mass, slope=steepest)))
        yield (
            f"{task.task}: downhill the towed machine pushes with up to {show(push, 'kN', units)}: go down in a low "
            "gear, with brakes on the machine."
        )
