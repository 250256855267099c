"""Checks of one tractor beside its margins: what passes a permitted load or tips it, and what else to look at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from evener.scoring.advice.loader_stance import loader_stance
from evener.scoring.advice.slope_checks import across, downhill, uphill
from evener.scoring.asks import tow
from evener.scoring.combinations.hard_axes import SURE, raised_loads
from evener.scoring.core.draws import quantile
from evener.scoring.core.printing import Units, show
from evener.scoring.core.setting import CannotSize
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place.going import speed_of
from evener.scoring.place.terms import Raised

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer

PTO_EDITION = "ISO 500-1:2014"
PTO_TYPE = {540: "1", 1000: "2"}
HITCH_EDITION = "ISO 730:2009 (+A1:2014)"
STANDS_ON = ("its front axle", "its rear axle", "its wheels")


def dangers(sizing: Sizing, offer: Offer, units: Units) -> list[str]:
    """Return where the first tractor passes a permitted load, tips, or stands too steep, each once.

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
            said += (one for demand in task.demands for one in uphill(offer, demand))
        except OutOfRange as reason:
            said.append(f"{task.task}: axle loads could not be worked out ({reason})")
    said += across(sizing.setting, offer, units)
    return list(dict.fromkeys(said))


def checks(sizing: Sizing, offer: Offer, units: Units) -> list[str]:
    """Return what else to look at with the first tractor: towing rules, PTO type, hitch band, shaky ground; each once.

    Parameters
    ----------
    sizing : the job
    offer : the tractor
    units : units to write in
    """
    said = [*_unbraked(sizing, units)]
    for task in sizing.tasks:
        said += _towing(sizing, offer, task, units)
        said += _pto(sizing, offer, task, units)
    said += _hitch(sizing, offer, units)
    notes = (note for task in sizing.tasks for demand in task.demands for note in offer.on(demand).notes)
    said += (f"{offer.tractor.label}: {note}." for note in notes)
    return list(dict.fromkeys(said))


def _axles(sizing: Sizing, offer: Offer, demand: Demand, units: Units) -> Iterator[str]:
    """Say where a raised machine, with the weights it needs, passes a permitted load."""
    terms, stance = demand.terms, offer.stands(sizing.setting)
    if not isinstance(terms, Raised) or stance is None:
        return
    record = offer.tractor
    limits = (record.front_axle_max_kg, record.rear_axle_max_kg, record.max_mass_kg)
    for where, values, limit in zip(STANDS_ON, raised_loads(demand, stance), limits, strict=True):
        load = quantile(values, SURE)
        if limit is not None and load > limit:
            yield (
                f"{demand.task}: {terms.how} {record.label} stands with {show(load, 'kg', units)} on "
                f"{where}, and {show(limit, 'kg', units)} are permitted."
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
    load, tips = quantile(stance.load_kg, SURE), quantile(stance.tipping_kg, 1 - SURE)
    if load > tips:
        yield (
            f"{task.task}: without a counterweight {offer.tractor.label} can tip forward at about "
            f"{show(tips, 'kg', units)} in the tool, and this load is up to {show(load, 'kg', units)}."
        )
    limit, front = offer.tractor.front_axle_max_kg, quantile(stance.front_kg, SURE)
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
            f"{row['type']} is for up to {show(row['max_pto_power_kw'], 'kW', units)}: fit a larger type of "
            "shaft and an overload clutch, as both manuals say."
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


def _unbraked(sizing: Sizing, units: Units) -> Iterator[str]:
    """Say what is towed beyond what one rule allows without brakes, all tasks together."""
    setting, limit = sizing.setting, tow.rule(sizing.setting, tow.UNBRAKED, 0.0)["towed_mass_max_kg"]
    towed = {task.task: one for task in sizing.tasks for one in task.demands if one.axis == "tow_mass"}
    masses = {
        task.name: quantile(towed[task.name].alpha, sizing.confidence)
        for task in setting.job.tasks
        if task.name in towed and limit is not None and tow.UNBRAKED in tow.brakes_of(setting, task)
    }
    over = [name for name, mass in masses.items() if mass > limit]
    if over:
        most = show(max(masses[name] for name in over), "kg", units)
        yield (
            f"{', '.join(over)}: up to {most} are towed; one rule allows {show(limit, 'kg', units)} without brakes. "
            "The law of the place decides."
        )


def _towing(sizing: Sizing, offer: Offer, task: TaskDemands, units: Units) -> Iterator[str]:
    """Say where towing without brakes is faster than it is for, and where the slope is too steep for what is towed."""
    towed = next((demand for demand in task.demands if demand.axis == "tow_mass"), None)
    if towed is None:
        return
    setting = sizing.setting
    job_task = next(one for one in setting.job.tasks if one.name == task.task)
    if tow.UNBRAKED in tow.brakes_of(setting, job_task):
        row = tow.rule(setting, tow.UNBRAKED, 0.0)
        speed = speed_of(setting, job_task)
        if speed is not None and speed.high > row["speed_max_km_h"]:
            yield (
                f"{task.task}: without brakes towing is for up to {show(row['speed_max_km_h'], 'km/h', units)}; "
                f"this is done at {show(speed.high, 'km/h', units)}."
            )
    yield from downhill(sizing.setting, offer, job_task, towed, units)
