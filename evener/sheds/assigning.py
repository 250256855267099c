"""When what is done by whom: the season by two rules of fairness at least, each with its price, and what clashes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.results.answer import Worded
from evener.scoring.shed.jobs import tools_of
from evener.scoring.shed.planning.clash import clash
from evener.scoring.shed.planning.model import EXACT
from evener.scoring.shed.planning.plan import LEAST, Plan, plan
from evener.scoring.shed.seasons import Planning, planning
from evener.sheds.season import (
    Amount,
    Assignment,
    ClashNamed,
    DayPlan,
    LevelReached,
    MemberPlan,
    RulePlan,
    TaskPlan,
    VetoPrice,
)
from evener.sheds.words import remedy

if TYPE_CHECKING:
    from evener.schema.shed import Shed, Veto
    from evener.scoring.shed.jobs import Tool
    from evener.scoring.shed.matrix import Matrix
    from evener.scoring.shed.planning.clash import Clash
    from evener.scoring.shed.planning.timetable import Planned

SIDE_BY_SIDE = ("own_first", "equal_share")


@dataclass(frozen=True)
class Asked:
    """How a season is to be planned: by which rule, beside which, by hours or land, how near to the bound."""

    rule: str
    beside: tuple[str, ...]
    by_hours: bool = False
    gap: float = EXACT


def season_of(
    shed: Shed, found: Matrix, *, without: Sequence[Veto] = (), only: Sequence[int] | None = None
) -> Planning:
    """Return the season of a shed."""
    tools = tools_of(shed)
    return planning(shed, found.wanted, tools, found.cells, paces=found.paces, without=without, only=only)


def turn_of(shed: Shed) -> tuple[str, ...]:
    """Return the members in the order of their turn: as said, else who is owed most first, then as they stand."""
    said = shed.turn
    rest = sorted(
        (member for member in shed.members if member.name not in said), key=lambda member: -member.hours_owed_h
    )
    return (*said, *(member.name for member in rest))


def assign(shed: Shed, found: Matrix, asked: Asked, *, only: Sequence[int] | None = None) -> Assignment:
    """Plan a shed's season.

    Parameters
    ----------
    shed : the shed
    found : what its combinations do
    asked : by which rules
    only : numbers of the tasks that are planned
    """
    made = season_of(shed, found, only=only)
    plans = {
        rule: plan(made.season, rule, by_hours=asked.by_hours, turn=turn_of(shed), gap=asked.gap)
        for rule in dict.fromkeys((LEAST, asked.rule, *asked.beside))
    }
    least, leading = plans[LEAST], plans[asked.rule]
    tools = {tool.number: tool for tool in tools_of(shed)}
    missed = [one.task for one in leading.tasks if one.combination is None or one.left_h > 0 or one.late_days]
    clashing = clash(made.season, missed) if missed else None
    return Assignment(
        shed.name,
        shed.first.isoformat(),
        shed.last.isoformat(),
        asked.rule,
        tuple(_rule(made, one, least) for one in plans.values()),
        tuple(_task(shed, found, made, tools, one) for one in leading.tasks),
        _members(shed, leading),
        tuple(_veto(shed, found, least, veto, asked, only) for veto in shed.vetoes),
        None if clashing is None else _clash(shed, made, tools, clashing),
        shed.units,  # type: ignore[arg-type]
    )


def _rule(made: Planning, one: Plan, least: Plan) -> RulePlan:
    late_land, late_h = 0.0, 0.0
    for planned in one.tasks:
        late = sum(day.hours for day in planned.days if day.late)
        if planned.combination is None or not late:
            continue
        task, of = made.season.tasks[planned.task], made.season.combinations[planned.combination]
        if made.by_land[planned.task]:
            late_land += task.amount * late / of.hours
        else:
            late_h += late
    worst = max(one.members, key=lambda member: member.share, default=None)
    suffers = worst if worst is not None and worst.share > 0 else None
    return RulePlan(
        one.rule.name,
        one.rule.label,
        one.rule.says,
        one.undone,
        Amount(round(late_land, 3), "ha"),
        round(late_h, 3),
        one.late_days,
        Amount(round(one.km, 2), "km"),
        suffers.member if suffers is not None else None,
        round(suffers.share, 4) if suffers is not None else 0.0,
        one.undone - least.undone,
        one.late_days - least.late_days,
        Amount(round(one.km - least.km, 2), "km"),
        round(one.gap, 6),
        tuple(LevelReached(level.name, level.value, level.bound) for level in one.levels if level.name != "order"),
    )


def _task(shed: Shed, found: Matrix, made: Planning, tools: dict[int | None, Tool], one: Planned) -> TaskPlan:
    wanted, window = made.works[one.task]
    head = {
        "member": wanted.member.name,
        "task": wanted.task.name,
        "first": window.first.isoformat(),
        "last": window.last.isoformat(),
    }
    if one.combination is None:
        return TaskPlan(
            **head,
            tractor=None,
            owner=None,
            driver=None,
            machine=None,
            machine_owner=None,
            remedies=(),
            days=(),
            hours=0.0,
            road=Amount(0.0, "km"),
            left_h=0.0,
            why=_why(found, made, one.task),
        )
    way, cell = made.season.combinations[one.combination], made.cells[one.combination]
    tractor = shed.tractors[way.tractor]
    tool = tools.get(way.machine) if way.machine is not None else None
    return TaskPlan(
        **head,
        tractor=tractor.tractor_id,
        owner=tractor.owner,
        driver=tractor.owner,
        machine=cell.tool,
        machine_owner=tool.owner if tool is not None else tractor.owner,
        remedies=tuple(Worded(remedy(each, "si"), remedy(each, "us")) for each in cell.remedies),
        days=tuple(DayPlan(made.days.date(day.day).isoformat(), round(day.hours, 2), day.late) for day in one.days),
        hours=round(way.hours, 2),
        road=Amount(way.km, "km"),
        left_h=round(one.left_h, 2),
        why=None if not one.left_h else "no days are left for the rest of it",
    )


def _why(found: Matrix, made: Planning, task: int) -> str:
    if any(one.task == task for one in made.season.combinations):
        return "no days are left for it: others come first by this rule, or its window is too short"
    wanted = made.works[task][0]
    cells = [cell for cell in found.cells if cell.task == wanted.number]
    reasons = next((one.why for one in found.uncovered if one.task == wanted.number), ())
    if reasons:
        return "; ".join(reasons)
    if any(cell.covers and cell.hours is None for cell in cells):
        return "how long it takes is not known: say its hours, or its land or area; of baling its yield too"
    if any(cell.covers for cell in cells):
        return "what does it is refused"
    return "nothing in the shed does it: evener cover tells how far each falls short"


def _members(shed: Shed, one: Plan) -> tuple[MemberPlan, ...]:
    owed = {member.name: member.hours_owed_h for member in shed.members}
    return tuple(
        MemberPlan(
            of.member,
            round(of.asked_h, 2),
            round(of.late_h, 2),
            round(of.undone_h, 2),
            round(of.beyond_h, 2),
            round(of.share, 4),
            round(of.lent_h, 2),
            round(of.borrowed_h, 2),
            owed.get(of.member, 0.0),
            round(owed.get(of.member, 0.0) + of.lent_h - of.borrowed_h, 2),
        )
        for of in sorted(one.members, key=lambda of: list(owed).index(of.member) if of.member in owed else len(owed))
    )


def _veto(shed: Shed, found: Matrix, least: Plan, veto: Veto, asked: Asked, only: Sequence[int] | None) -> VetoPrice:
    free = plan(season_of(shed, found, without=(veto,), only=only).season, LEAST, gap=asked.gap)
    return VetoPrice(
        veto.member,
        veto.refuses,
        veto.task,
        least.undone - free.undone,
        least.late_days - free.late_days,
        Amount(round(least.km - free.km, 2), "km"),
    )


def _clash(shed: Shed, made: Planning, tools: dict[int | None, Tool], found: Clash) -> ClashNamed:
    windows = [
        f"{made.works[task][0].label}, {_day(made.works[task][1].first)} to {_day(made.works[task][1].last)}"
        for task in found.tasks
    ]
    things = [
        shed.tractors[number].tractor_id if kind == "tractor" else tools[number].name for kind, number in found.things
    ]
    return ClashNamed(tuple(windows), found.short_h, found.smallest, tuple(things))


def _day(day: dt.date) -> str:
    return f"{day.day} {day:%B}"
