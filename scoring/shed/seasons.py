"""From a shed and what its combinations do to the season that is planned: windows, hours, travel, drivers, vetoes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.shed.calendar import Days
from evener.scoring.shed.jobs import area_of
from evener.scoring.shed.planning.work import Combination, Season, Work
from evener.scoring.shed.travel import Roads

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from evener.schema.shed import Shed, Veto, Window
    from evener.scoring.shed.cells import Cell
    from evener.scoring.shed.jobs import Tool, Wanted


@dataclass(frozen=True)
class Planning:
    """A season with what its numbers stand for.

    Attributes
    ----------
    season : what is planned
    days : its days
    cells : by combination, the cell it comes from
    works : by task of the season, the task of the shed and its window
    by_land : by task of the season, whether its amount is land; else hours
    """

    season: Season
    days: Days
    cells: tuple[Cell, ...]
    works: tuple[tuple[Wanted, Window], ...]
    by_land: tuple[bool, ...]


def planning(
    shed: Shed,
    tasks: Collection[Wanted],
    tools: Collection[Tool],
    cells: Collection[Cell],
    *,
    paces: Mapping[int | None, float | None],
    without: Collection[Veto] = (),
    only: Collection[int] | None = None,
) -> Planning:
    """Return the season of a shed.

    Parameters
    ----------
    shed : the shed
    tasks, tools, cells : what is asked, by what machines, and which combinations do it
    paces : by machine, the pace on the road that towing it allows [km/h]
    without : vetoes that do not count
    only : numbers of the tasks that are planned; all where left out
    """
    days = Days(shed.first, shed.last, shed.hours_a_day_h, shed.workable, shed.sundays)
    roads = Roads(shed)
    owner_of_tool = {tool.number: tool.owner for tool in tools if tool.number is not None}
    doing: dict[int, list[Cell]] = {}
    for cell in cells:
        if cell.covers and cell.hours is not None and not _refused(shed, tasks, tools, cell, without):
            doing.setdefault(cell.task, []).append(cell)
    works: list[tuple[Wanted, Window]] = []
    combinations: list[tuple[Combination, Cell]] = []
    for one in tasks:
        if only is not None and one.number not in only:
            continue
        for window in one.windows:
            for cell in sorted(doing.get(one.number, ()), key=lambda cell: (cell.tractor, cell.machine or 0)):
                owner = shed.tractors[cell.tractor].owner or ""
                fetched = owner_of_tool[cell.machine] if cell.machine is not None else None
                trip = roads.trip(owner, fetched, one.member.name, pace_km_h=paces.get(cell.machine))
                hours = (cell.hours or 0.0) + trip.hours
                combinations.append(
                    (Combination(len(works), cell.tractor, cell.machine, round(hours, 6), round(trip.km, 6)), cell)
                )
            works.append((one, window))
    season = Season(
        tasks=tuple(_work(one, window, days, doing) for one, window in works),
        combinations=tuple(one for one, _ in combinations),
        day_h=days.lengths(),
        share=days.shares(),
        owner_of_tractor=tuple(tractor.owner or "" for tractor in shed.tractors),
        drivers={member.name: member.drivers for member in shed.members},
        owner_of_machine=tuple(owner_of_tool[number] for number in sorted(owner_of_tool)),
        away=_away(shed, tools, days),
        late_days=shed.late_days,
        after=_after(works),
    )
    return Planning(
        season,
        days,
        tuple(cell for _, cell in combinations),
        tuple(works),
        tuple(bool(area_of(one)) for one, _ in works),
    )


def _after(works: list[tuple[Wanted, Window]]) -> tuple[tuple[int, int], ...]:
    """Return which task goes after which: of several times, each after the like time of the other."""
    times: dict[tuple[str, str], list[int]] = {}
    for number, (one, _) in enumerate(works):
        times.setdefault((one.member.name, one.task.name), []).append(number)
    found = []
    for number, (one, window) in enumerate(works):
        before = times.get((one.member.name, window.after), []) if window.after is not None else []
        if before:
            time = times[one.member.name, one.task.name].index(number)
            found.append((number, before[min(time, len(before) - 1)]))
    return tuple(found)


def _work(one: Wanted, window: Window, days: Days, doing: Mapping[int, list[Cell]]) -> Work:
    first, last = days.number(window.first), days.number(window.last)
    worked = days.worked_between(first, last)
    share = None if window.workable_days is None or not worked else min(1.0, window.workable_days / worked)
    area = area_of(one)
    hours = [cell.hours for cell in doing.get(one.number, ()) if cell.hours is not None]
    said = one.task.hours_h.middle if one.task.hours_h is not None else None
    taken = min(hours, default=said or 1.0)
    return Work(one.task.name, one.member.name, first, last, area or taken, window.hours_a_day_h, share, taken)


def _refused(
    shed: Shed, tasks: Collection[Wanted], tools: Collection[Tool], cell: Cell, without: Collection[Veto]
) -> bool:
    counting = [veto for veto in shed.vetoes if veto not in without]
    if not counting:
        return False
    one = next(one for one in tasks if one.number == cell.task)
    tractor = shed.tractors[cell.tractor]
    names = {tractor.tractor_id, tractor.owner}
    names |= {
        name
        for tool in tools
        if tool.number == cell.machine and tool.number is not None
        for name in (tool.name, tool.owner)
    }
    if one.member.name in names:
        names.discard(one.member.name)
    return any(
        veto.member == one.member.name and veto.task in (None, one.task.name) and veto.refuses in names
        for veto in counting
    )


def _away(shed: Shed, tools: Collection[Tool], days: Days) -> frozenset[tuple[str, int, int]]:
    """Return the days on which a tractor or a machine stays at home."""
    numbers = {tractor.tractor_id: ("tractor", number) for number, tractor in enumerate(shed.tractors)}
    numbers |= {tool.name: ("machine", tool.number) for tool in tools if tool.number is not None and tool.record}
    found = set()
    for kept in shed.kept:
        kind, number = numbers[kept.thing]
        first = 0 if kept.first is None else days.number(kept.first)
        last = len(days) - 1 if kept.last is None else days.number(kept.last)
        found |= {(kind, number, day) for day in range(max(first, 0), min(last, len(days) - 1) + 1)}
    return frozenset(found)
