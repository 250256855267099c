"""Every task of a shed against every tractor with every machine that may do it: the one file here that sizes.

Tasks that ask the same under the same conditions are sized once, whoever has them; all tractors stand against the same
draws. A verdict is one of four:

- *does it*: in as large a share of the draws as is asked for;
- *does it with*: a remedy within its bounds: weights, a slower pace, part of the load, an adapter at the hitch;
- *does not*: a wall, or short beyond what a remedy gives;
- *not known*: it does it or not by figures that are assumed, and which can be read off a plate or a book.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from evener.schema.records import JobSheet, Quantity
from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations import margins as fit
from evener.scoring.combinations import work_time
from evener.scoring.combinations.remedies import fixes
from evener.scoring.core.draws import Draws
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.decision.sizing import Sizing
from evener.scoring.gives.capacities import FIELD, offer
from evener.scoring.shed.cells import DOES, DOES_NOT, NOT_KNOWN, WITH, Cell, Plate, Remedy, Uncovered
from evener.scoring.shed.jobs import Tool, Wanted, wanted, with_tool

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.schema.shed import Shed
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Mask
    from evener.scoring.core.setting import Library
    from evener.scoring.gives.capacities import Offer

DRAWS = 512
SLOWER = 0.70
PART_LOAD = 0.80
MORE_WEIGHT = 0.70
ONE_HECTARE = Quantity(1.0, 1.0, "exact", "1 ha")
NOT_STATED = "not stated"
SLOWED = ("pto_power", "drawbar_pull")
LOADED = ("rear_lift", "loader_lift", "tow_mass")
BALANCED = ("front_axle", "rear_axle")
LOADERS = ("loader_lift", "loader_height")
LEAST_SHARE = {"slower": SLOWER, "part_load": PART_LOAD, "more_weights": MORE_WEIGHT}
TOWED = ("trailed", "semi_mounted")
UNBRAKED = "none"


@dataclass(frozen=True)
class Matrix:
    """What a shed's combinations do.

    Attributes
    ----------
    wanted : the tasks
    tractors : the tractors, in the shed's order
    cells : one for each task with each machine that may do it and each tractor, in that order
    uncovered : tasks without a cell, and why
    met : by place in `cells`, the draws in which one that covers its task does so
    areas : land of each task, where it goes by land [ha]
    paces : by machine, the pace on the road that towing it allows [km/h]
    sized : how many different tasks were sized
    """

    wanted: tuple[Wanted, ...]
    tractors: tuple[Tractor, ...]
    cells: tuple[Cell, ...]
    uncovered: tuple[Uncovered, ...]
    met: dict[int, Mask]
    areas: dict[int, float | None]
    paces: dict[int | None, float | None]
    sized: int


def matrix(
    shed: Shed, library: Library, classes: Sequence[Tractor], *, draws: Draws | None = None, weights: bool = True
) -> Matrix:
    """Set every task of a shed against its tractors and machines.

    Parameters
    ----------
    shed : the shed
    library : records and published tables
    classes : generic tractors, which stand in for what a record does not state
    draws : shared draws
    weights : whether the weights a tractor needs fitted are worked out
    """
    drawn = draws or Draws(n=DRAWS)
    tasks = wanted(shed, library.families)
    offers = [offer(tractor, classes, drawn) for tractor in shed.tractors]
    kinds: dict[str, _Kind | CannotSize] = {}
    cells: list[Cell] = []
    uncovered: list[Uncovered] = []
    met: dict[int, Mask] = {}
    for one in tasks:
        found: list[Cell] = []
        failed: list[str] = [] if one.tools else ["no machine of its kind is in the shed"]
        for tool in one.tools:
            key, job = _alike(one, tool, shed.confidence)
            if key not in kinds:
                kinds[key] = _kind(job, library, drawn, offers, weights=weights)
            kind = kinds[key]
            if isinstance(kind, CannotSize):
                failed.append(f"{kind.why}. {kind.fix}")
                continue
            hours = _hours(one, kind)
            for cell, mask in zip(kind.cells, kind.met, strict=True):
                if mask is not None:
                    met[len(cells) + len(found)] = mask
                found.append(
                    replace(cell, task=one.number, machine=tool.number, tool=tool.name, hours=_with(hours, cell))
                )
        cells += found
        if not found:
            uncovered.append(Uncovered(one.number, tuple(dict.fromkeys(failed))))
    areas = {one.number: area_of(one) for one in tasks}
    paces = {tool.number: towing_pace(library, tool) for one in tasks for tool in one.tools}
    return Matrix(tasks, shed.tractors, tuple(cells), tuple(uncovered), met, areas, paces, len(kinds))


@dataclass(frozen=True)
class _Kind:
    """One kind of task: its verdicts by tractor with the draws that meet it, and how much land it does in an hour."""

    cells: tuple[Cell, ...]
    met: tuple[Mask | None, ...]
    rate_ha_h: float | None


def _with(hours: float | None, cell: Cell) -> float | None:
    """Return the hours with a remedy that slows: a slower pace and part loads take as much longer."""
    slowest = min((one.share for one in cell.remedies if one.share is not None), default=1.0)
    return None if hours is None else hours / slowest


def _alike(one: Wanted, tool: Tool, confidence: float) -> tuple[str, JobSheet]:
    """Return what tells this kind of task from others, and a sheet that holds it alone."""
    task = with_tool(one.task, tool)
    uses = tuple(replace(use, area_ha=ONE_HECTARE) for use in one.job.place.land if use.use == task.land)
    kind = replace(
        task,
        name=task.family,
        machine=None,
        area_ha=ONE_HECTARE if task.hours_h is None else None,
        days=None,
        times_per_year=1.0,
        planned=False,
        chance=1.0,
        year=None,
        line=None,
        hire=False,
    )
    place = replace(one.job.place, name="", land=uses, animals={}, snow_days=None, hours_a_day_h=None)
    policy = replace(one.job.policy, confidence=confidence)
    sheet = JobSheet(place=place, tasks=(kind,), policy=policy)
    return f"{place!r}{kind!r}", sheet


def _kind(
    job: JobSheet, library: Library, draws: Draws, offers: Sequence[Offer], *, weights: bool
) -> _Kind | CannotSize:
    setting = Setting(job, library, draws)
    try:
        asked = demands_of(setting, job.tasks[0])
    except CannotSize as reason:
        return reason
    sizing = Sizing(setting, (asked,), (), ())
    timed = work_time.work(sizing)
    rate = timed[0]["rate"] if timed else None
    cells = tuple(_cell(sizing, asked, one, number, weights=weights) for number, one in enumerate(offers))
    met = tuple(_met(sizing, asked, one, cell) for one, cell in zip(offers, cells, strict=True))
    return _Kind(cells, met, None if rate is None else rate["middle"])


def _met(sizing: Sizing, asked: TaskDemands, one: Offer, cell: Cell) -> Mask | None:
    """Return the draws in which a combination that covers its task does it, with its remedies up to their bounds."""
    if not cell.covers:
        return None
    least = min((LEAST_SHARE.get(remedy.kind, 1.0) for remedy in cell.remedies), default=1.0)
    found: Mask = fit.outcome([asked], one, sizing.setting.draws).tightest <= 1.0 / least
    return found


def towing_pace(library: Library, tool: Tool) -> float | None:
    """Return the pace on the road at which a towed machine without brakes may go, or None where nothing binds it."""
    record = tool.record
    if record is None or record.attachment not in TOWED or record.brakes not in (None, UNBRAKED):
        return None
    paces = [row["speed_max_km_h"] for row in library.rows("towing", brake_on_towed=UNBRAKED) if row["speed_max_km_h"]]
    return min(paces, default=None)


def _hours(one: Wanted, kind: _Kind) -> float | None:
    """Return the hours a task takes each time: as the sheet says, else its land over what the machine does."""
    task = one.task
    if task.hours_h is not None and task.hours_h.middle is not None:
        return task.hours_h.middle
    area = area_of(one)
    return None if area is None or not kind.rate_ha_h else area / kind.rate_ha_h


def area_of(one: Wanted) -> float | None:
    """Return the land of a task: its own area, else all of the use it is on [ha]."""
    if one.task.area_ha is not None and one.task.area_ha.middle is not None:
        return one.task.area_ha.middle
    areas = [use.area_ha.middle for use in one.job.place.land if use.use == one.task.land]
    stated = [area for area in areas if area is not None]
    return sum(stated) if stated else None


def _cell(sizing: Sizing, asked: TaskDemands, one: Offer, number: int, *, weights: bool) -> Cell:
    found = fit.detail([asked], one, sizing.setting.draws, sizing.confidence)[0]
    walls = [gate for gate in found.gates if not gate.ok and gate.offered != NOT_STATED]
    short = [axis for axis in found.axes if axis.adequacy < sizing.confidence]
    no_loader = any(axis.axis == "loader_lift" and axis.capacity is None for axis in found.axes)
    plates = [Plate("loader")] if no_loader else []
    plates += [Plate(gate.axis) for gate in found.gates if not gate.ok and gate.offered == NOT_STATED]
    remedies = _bushings(found)
    blocked: list[fit.AxisFit] = []
    for axis in short:
        assumed = axis.assumed_from is not None and axis.adequacy > 1 - sizing.confidence
        if no_loader and axis.axis in LOADERS:
            continue
        if axis.capacity is None or assumed:
            plates.append(Plate(FIELD.get(axis.axis, axis.axis), axis.high, axis.unit, axis.capacity))
        elif (way := _remedy(sizing, axis)) is not None:
            remedies.append(way)
        else:
            blocked.append(axis)
    cell = Cell(task=0, tractor=number, machine=None, tool="", verdict=DOES, chance=found.adequacy, hours=None)
    if walls:
        return replace(cell, verdict=DOES_NOT, axis=walls[0].axis, asked=walls[0].asked, has=walls[0].offered)
    if blocked:
        worst = min(blocked, key=lambda axis: axis.margin if axis.margin is not None else 0.0)
        return replace(
            cell,
            verdict=DOES_NOT,
            axis=worst.axis,
            short=None if worst.margin is None else -worst.margin,
            need=worst.high,
            capacity=worst.capacity,
            unit=worst.unit,
        )
    if plates:
        return replace(cell, verdict=NOT_KNOWN, plates=tuple(dict.fromkeys(plates)))
    if weights and any(axis.axis in BALANCED or axis.axis == "loader_lift" for axis in found.axes):
        remedies += [
            Remedy(fix.kind, fix.text, amount=fix.amount, unit=fix.unit)
            for fix in fixes(sizing, one, [found])
            if fix.needed
        ]
    return replace(cell, verdict=WITH if remedies else DOES, remedies=tuple(remedies))


def _bushings(found: fit.TaskFit) -> list[Remedy]:
    """Return the bushings that a hitch one category above the machine's takes (common practice, no source)."""
    return [
        Remedy("adapter", f"bushings on the lower pins: it has {gate.offered}, {gate.asked} is asked")
        for gate in found.gates
        if gate.axis == "hitch_category" and gate.ok and _category(gate.offered) > _category(gate.asked)
    ]


def _category(words: str) -> int:
    """Return the number of the largest category that words name."""
    return max((int(sign) for sign in words if sign.isdigit()), default=0)


def _remedy(sizing: Sizing, axis: fit.AxisFit) -> Remedy | None:
    """Return what is done instead where it is near enough: slower above the rating, part of the load, more weight."""
    if axis.margin is None:
        return None
    share = 1.0 + axis.margin
    if axis.axis in SLOWED and axis.basis not in {"rated", "fitted"} and share >= SLOWER:
        return Remedy("slower", f"a pace of {share:.0%} of the usual", share=share)
    if (
        axis.axis in LOADED
        and share >= PART_LOAD
        and sizing.setting.family(sizing.setting.job.tasks[0]).power == "carried"
    ):
        return Remedy("part_load", f"{share:.0%} of the load", share=share)
    if axis.axis in BALANCED and share >= MORE_WEIGHT:
        return Remedy("more_weights", "more than a usual set of weights: weigh it first")
    return None
