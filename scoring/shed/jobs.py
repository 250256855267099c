"""The tasks of a shed's members, and the machines that may do them: records, and what a sheet says is there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from evener.schema.records import JobSheet, Quantity
from evener.schema.shed import usual

if TYPE_CHECKING:
    from collections.abc import Mapping

    from evener.schema.records import Family, Implement, Task
    from evener.schema.shed import Member, Shed, Window

ONE_HECTARE = Quantity(1.0, 1.0, "exact", "1 ha")
SAME_BALE = usual("same_bale")
SLACK = 1e-6
LOADER = "loader"
ON_LOADER = "its loader"
SMALLEST = usual("smallest_load")


@dataclass(frozen=True)
class Tool:
    """One machine of the shed.

    Attributes
    ----------
    number : its number, or None for a loader's tool, which goes with the tractor that has the loader
    owner, name : whose, and its id or the name the sheet gives it
    label : what it is called
    record : its record, or None where the sheet alone knows it
    """

    number: int | None
    owner: str
    name: str
    label: str
    family: str
    record: Implement | None = None


@dataclass(frozen=True)
class Wanted:
    """One task of a member, each window of it one time.

    Attributes
    ----------
    number : its number, in the order of members and sheets
    member, task, job : whose, which, and of what sheet
    windows : dates, one for each time it is done
    tools : machines that may do it
    """

    number: int
    member: Member
    task: Task
    job: JobSheet
    windows: tuple[Window, ...]
    tools: tuple[Tool, ...]

    @property
    def label(self) -> str:
        """The task with its member's name."""
        return f"{self.member.name}: {self.task.name}"


def tools_of(shed: Shed) -> tuple[Tool, ...]:
    """Return the machines of a shed, in its order: its records, then what is had on the places without a record."""
    found = [
        Tool(number, one.owner or "", one.implement_id, one.label, one.family, one)
        for number, one in enumerate(shed.machines)
    ]
    for member in shed.members:
        for machine in member.job.implements if member.job is not None else ():
            if machine.have and machine.implement_id is None:
                found.append(Tool(len(found), member.name, machine.name, machine.name, machine.family))
    return tuple(found)


def wanted(shed: Shed, families: Mapping[str, Family]) -> tuple[Wanted, ...]:
    """Return the tasks of a shed's members with the machines that may do each; plans for later years are left out.

    Parameters
    ----------
    shed : the shed
    families : kinds of implement
    """
    tools = tools_of(shed)
    found: list[Wanted] = []
    for member in shed.members:
        if member.job is None:
            continue
        for task in member.job.tasks:
            windows = tuple(window for window in member.windows if window.task == task.name)
            if task.planned:
                continue
            fitting = tuple(tool for tool in tools if _may(task, member.name, tool))
            if not fitting and _is_loader_work(task, families):
                fitting = (Tool(None, "", ON_LOADER, "the loader's tool", task.family),)
            found.append(Wanted(len(found), member, task, member.job, windows, fitting))
    return tuple(found)


def _is_loader_work(task: Task, families: Mapping[str, Family]) -> bool:
    return (task.attachment or families[task.family].attachment) == LOADER


def _may(task: Task, member: str, tool: Tool) -> bool:
    """Whether a machine is of the kind a task asks for: its family, its bale, its stems; how strong is for sizing."""
    if tool.family != task.family:
        return False
    if tool.record is None:
        return tool.owner == member and task.machine == tool.name
    record = tool.record
    on_loader = [carried == LOADER for carried in (task.attachment, record.attachment) if carried is not None]
    stems = (task.stem_m.high if task.stem_m is not None else None) or 0.0
    too_thick = record.max_stem_m is not None and stems > record.max_stem_m * (1 + SLACK)
    small = _too_small(task.load_kg, record.payload_kg) or _too_small(task.tank_l, record.tank_l)
    if too_thick or small or len(set(on_loader)) > 1:
        return False
    return all(
        _alike(getattr(task, name), getattr(record, name))
        for name in ("bale_width_m", "bale_diameter_m", "bale_height_m")
    )


def _too_small(asked: Quantity | None, has: float | None) -> bool:
    """Whether a machine holds much less than the sheet says it is done with."""
    return asked is not None and asked.low is not None and has is not None and has < asked.low * SMALLEST


def _alike(asked: Quantity | None, has: float | None) -> bool:
    if asked is None or asked.low is None or asked.high is None or has is None:
        return True
    return asked.low * (1 - SAME_BALE) <= has <= asked.high * (1 + SAME_BALE)


def with_tool(task: Task, tool: Tool) -> Task:
    """Return a task done with a machine: a record's sizes are the record's own."""
    if tool.record is None:
        return task
    return replace(
        task,
        implement_id=tool.record.implement_id,
        machine=None,
        attachment=None,
        build=None,
        duty=None,
        width_m=None,
        tools=None,
        tank_l=None,
        machine_mass_kg=None,
        centre_of_mass_m=None,
        rated_pto_power_kw=None,
        hitch_category=None,
        pto_speeds_rpm=(),
        electric_power_kw=None,
        auger_diameter_m=None,
        brakes=None,
    )


def alike(one: Wanted, tool: Tool, confidence: float) -> tuple[str, JobSheet]:
    """Return what tells this kind of task from others, and a sheet that holds it alone.

    Parameters
    ----------
    one : the task
    tool : the machine it is done with
    confidence : share of the draws that a combination has to meet
    """
    task = with_tool(one.task, tool)
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
    uses = tuple(replace(use, area_ha=ONE_HECTARE) for use in one.job.place.land if use.use == task.land)
    place = replace(one.job.place, name="", land=uses, animals={}, snow_days=None, hours_a_day_h=None)
    policy = replace(one.job.policy, confidence=confidence)
    return f"{place!r}{kind!r}", JobSheet(place=place, tasks=(kind,), policy=policy)


def area_of(one: Wanted) -> float | None:
    """Return the land of a task: its own area, else all of the use it is on [ha]."""
    if one.task.area_ha is not None and one.task.area_ha.middle is not None:
        return one.task.area_ha.middle
    areas = [use.area_ha.middle for use in one.job.place.land if use.use == one.task.land]
    stated = [area for area in areas if area is not None]
    return sum(stated) if stated else None


def hours_of(one: Wanted, rate_ha_h: float | None) -> float | None:
    """Return the hours a task takes each time: as the sheet says, else its land over what is done in an hour [h]."""
    task = one.task
    if task.hours_h is not None and task.hours_h.middle is not None:
        return task.hours_h.middle
    area = area_of(one)
    return None if area is None or not rate_ha_h else area / rate_ha_h
