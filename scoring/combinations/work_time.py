"""How long the work takes: field capacity, time per bale, hours and days, against the days there are to do it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.scoring.asks.shaft import throughput
from evener.scoring.core.draws import median, quantile, share
from evener.scoring.core.setting import CannotSize
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.mechanics.work import baler_rate, work_rate
from evener.scoring.place import loads
from evener.scoring.place.going import speed_of
from evener.scoring.place.sizes import key, size

if TYPE_CHECKING:
    from collections.abc import Collection

    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.place.sizes import Size

BALERS = {"round_baler": "round", "small_square_baler": "square", "large_square_baler": "square"}


@dataclass(frozen=True)
class Pace:
    """How fast a task goes.

    Attributes
    ----------
    area_ha_h : effective field capacity, or None where no area is worked [ha/h]
    bales_h : bales an hour, or None [1/h]
    speed, width : what the field capacity rests on, where it rests on them
    """

    area_ha_h: Array | None
    bales_h: Array | None = None
    speed: Size | None = None
    width: Size | None = None


def work(setting: Setting, tasks: Collection[str], confidence: float) -> list[dict[str, Any]]:
    """Return how long each of some tasks takes and whether its days suffice, in the keys of the JSON contract.

    A task without land, area or hours is left out, nothing being known of how long it takes, and so is one whose pace
    lies outside the range of the formulas.
    """
    found = (_of(setting, task, confidence) for task in setting.job.tasks if task.name in tasks)
    return [one for one in found if one is not None]


def pace(setting: Setting, task: Task) -> Pace | None:
    """Return how fast a task goes, or None for work that is not done by the hectare."""
    family = setting.family(task)
    speed = speed_of(setting, task)
    if task.family in BALERS and speed is not None:
        return _baling(setting, task, speed)
    width = _width(setting, task)
    if speed is None or width is None or family.field_efficiency is None:
        return None
    rate = work_rate.field_capacity(speed.values, w=width.values, eta_f=family.field_efficiency)
    return Pace(np.asarray(rate), speed=speed, width=width)


def _width(setting: Setting, task: Task) -> Size | None:
    """Return the width a task covers in one pass: its own, its record's, or its family's where that goes by width."""
    record = setting.record(task)
    known = task.width_m is not None or (record is not None and record.working_width_m is not None)
    if not known and setting.family(task).first_variable != "working_width_m":
        return None
    return size(setting, task, "working_width_m")


def _baling(setting: Setting, task: Task, speed: Size) -> Pace | None:
    """Return the pace of a baler: it fills while it moves, and a round one stops to wrap and eject."""
    try:
        one, flow = loads.bale(setting, task), throughput(setting, task, speed)
    except CannotSize:
        return None
    stop = setting.allowance("bale_stop", BALERS[task.family])
    each = baler_rate.time_per_bale(one.mass_kg, F=flow.values, t_stop=stop)
    at_work = setting.allowance("baling_time")
    rate = np.asarray(baler_rate.bales_per_hour(each)) * at_work
    crop = size(setting, task, "yield_t_ha")
    tonnes = np.asarray(baler_rate.baler_capacity(one.mass_kg, t=each)) * at_work
    return Pace(None if crop is None else tonnes / crop.values, rate)


def _of(setting: Setting, task: Task, confidence: float) -> dict[str, Any] | None:
    try:
        return _timed(setting, task, confidence)
    except OutOfRange:
        return None


def _timed(setting: Setting, task: Task, confidence: float) -> dict[str, Any] | None:
    going = pace(setting, task)
    each = hours(setting, task, going)
    if each is None:
        return None
    a_day = day(setting)
    needed = np.asarray(work_rate.days(each, t_day=a_day))
    there = setting.draws.quantity(key(task, "days"), task.days) if task.days and task.days.low is not None else None
    chance = share(needed <= there) if there is not None else None
    fits = None if chance is None else chance >= confidence
    answer: dict[str, Any] = {
        "task": task.name,
        "rate": _measured(None if going is None else going.area_ha_h, "ha/h"),
        "bales_per_hour": None if going is None or going.bales_h is None else median(going.bales_h),
        "hours": _measured(each, "h"),
        "hours_a_year": _measured(each * task.times_per_year, "h"),
        "hours_a_day": median(a_day),
        "days_needed": quantile(needed, confidence),
        "days_there": None if there is None else median(there),
        "fits": fits,
        "chance": chance,
        "width_needed": None,
        "speed_needed": None,
    }
    if fits is False and there is not None and going is not None and going.width is not None:
        answer |= _faster(setting, task, going, hours=there * a_day, confidence=confidence)
    return answer


def _faster(setting: Setting, task: Task, going: Pace, *, hours: Array, confidence: float) -> dict[str, Any]:
    """Return the width, and the speed, with which the days would surely suffice."""
    land, efficiency = area(setting, task), setting.family(task).field_efficiency
    if land is None or efficiency is None or going.width is None or going.speed is None:
        return {}
    asked = np.asarray(work_rate.capacity_for_time(land, t=hours))
    width = np.asarray(work_rate.width_for_capacity(asked, S=going.speed.values, eta_f=efficiency))
    speed = np.asarray(work_rate.speed_for_capacity(asked, w=going.width.values, eta_f=efficiency))
    return {
        "width_needed": {"unit": "m", "middle": quantile(width, confidence)},
        "speed_needed": {"unit": "km/h", "middle": quantile(speed, confidence)},
    }


def hours(setting: Setting, task: Task, going: Pace | None) -> Array | None:
    """Return the hours a task takes each time: said, or its area over the field capacity [h]."""
    if task.hours_h is not None and task.hours_h.low is not None:
        return setting.draws.quantity(key(task, "hours_h"), task.hours_h)
    land = area(setting, task)
    if land is None or going is None or going.area_ha_h is None:
        return None
    return np.asarray(work_rate.hours(land, C_a=going.area_ha_h))


def area(setting: Setting, task: Task) -> Array | None:
    """Return the area a task covers each time [ha]: its own, else all of its land."""
    if task.area_ha is not None and task.area_ha.low is not None:
        return setting.draws.quantity(key(task, "area_ha"), task.area_ha)
    areas = [use for use in setting.job.place.land if use.use == task.land and use.area_ha.low is not None]
    if not areas:
        return None
    drawn = [setting.draws.quantity(f"place/land/{use.use}", use.area_ha) for use in areas]
    return np.asarray(np.sum(drawn, axis=0))


def day(setting: Setting) -> Array:
    """Return the working hours in a day: said, or the usual [h]."""
    said = setting.job.place.hours_a_day_h
    if said is not None and said.low is not None:
        return setting.draws.quantity("place/hours_a_day_h", said)
    return setting.allowance("work_day")


def _measured(values: Array | None, unit: str) -> dict[str, Any] | None:
    return None if values is None else {"unit": unit, "middle": median(values)}
