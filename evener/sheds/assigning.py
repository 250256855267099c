"""When what is done by whom: the season by two rules of fairness at least, each with its price, and what clashes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer, Worded
from evener.scoring.shed.clash import clash
from evener.scoring.shed.jobs import tools_of
from evener.scoring.shed.model import EXACT
from evener.scoring.shed.plan import LEAST, Plan, plan
from evener.scoring.shed.seasons import Planning, planning
from evener.sheds.words import remedy

if TYPE_CHECKING:
    from evener.schema.shed import Shed, Veto
    from evener.scoring.core.printing import Units
    from evener.scoring.shed.clash import Clash
    from evener.scoring.shed.jobs import Tool
    from evener.scoring.shed.matrix import Matrix
    from evener.scoring.shed.timetable import Planned

SIDE_BY_SIDE = ("own_first", "equal_share")


@dataclass(frozen=True)
class Amount:
    """A number with its unit."""

    amount: float
    unit: str


@dataclass(frozen=True)
class DayPlan:
    """Hours of one task on one day; late where it is after its window."""

    date: str
    hours: float
    late: bool


@dataclass(frozen=True)
class TaskPlan:
    """One task of the calendar.

    Attributes
    ----------
    member, task : whose, and which
    tractor, owner, driver : id of the tractor, whose it is, and who drives it
    machine, machine_owner : id or name of the machine, and whose
    remedies : what the combination does it with
    first, last : its window
    days : its days; empty where it is left undone
    hours : hours in all, travel counted [h]
    road : there and back
    left_h : hours that found no day [h]
    why : where it is left undone, why
    """

    member: str
    task: str
    tractor: str | None
    owner: str | None
    driver: str | None
    machine: str | None
    machine_owner: str | None
    remedies: tuple[Worded[str], ...]
    first: str
    last: str
    days: tuple[DayPlan, ...]
    hours: float
    road: Amount
    left_h: float
    why: str | None


@dataclass(frozen=True)
class MemberPlan:
    """What one member has of the plan: hours of work, late, undone, beyond the shed; lent, borrowed and owed."""

    member: str
    asked_h: float
    late_h: float
    undone_h: float
    beyond_h: float
    share: float
    lent_h: float
    borrowed_h: float
    owed_before_h: float
    owed_after_h: float


@dataclass(frozen=True)
class LevelReached:
    """What was minimised, what was reached, and what no plan can better."""

    level: str
    value: float
    bound: float


@dataclass(frozen=True)
class RulePlan:
    """The season by one rule.

    Attributes
    ----------
    rule, label, says : the rule, in a word and in a sentence
    undone : tasks that are left
    late_land, late_h : land and hours done after their windows
    late_days : days of work after a window
    road : road driven
    worst, worst_share : who has most of his work late or undone, and how much of it [1]
    undone_more, late_days_more, road_more : its price: how much more than the plan that favours nobody
    gap : distance to what no plan can better [1]
    levels : what was minimised, in order
    """

    rule: str
    label: str
    says: str
    undone: int
    late_land: Amount
    late_h: float
    late_days: int
    road: Amount
    worst: str | None
    worst_share: float
    undone_more: int
    late_days_more: int
    road_more: Amount
    gap: float
    levels: tuple[LevelReached, ...]


@dataclass(frozen=True)
class VetoPrice:
    """What one veto costs: how much less would be undone, late and driven without it."""

    member: str
    refuses: str
    task: str | None
    undone_less: int
    late_days_less: int
    road_less: Amount


@dataclass(frozen=True)
class ClashNamed:
    """The smallest set of windows that cannot all be kept.

    Attributes
    ----------
    windows : the tasks with their windows
    short_h : hours that find no day within them [h]
    smallest : whether no smaller set clashes; else none of it can be spared
    things : tractors and machines that all of them turn to
    """

    windows: tuple[str, ...]
    short_h: float
    smallest: bool
    things: tuple[str, ...]


@dataclass(frozen=True)
class Assignment(Answer):
    """A shed's season.

    Attributes
    ----------
    shed, first, last : its name, and the season
    rule : the rule the calendar follows
    rules : plans by several rules side by side
    tasks : the calendar
    members : what each has of it
    vetoes : what each veto costs
    clash : windows that cannot all be kept, where something is late or undone for want of days
    """

    shed: str
    first: str
    last: str
    rule: str
    rules: tuple[RulePlan, ...]
    tasks: tuple[TaskPlan, ...]
    members: tuple[MemberPlan, ...]
    vetoes: tuple[VetoPrice, ...]
    clash: ClashNamed | None
    units: Units = field(default="us", repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:  # noqa: ARG002 - hours and dates alone
        """Return one row per task and day.

        Parameters
        ----------
        units : "si" or "us"
        """
        rows = [
            {
                "date": day.date,
                "member": one.member,
                "task": one.task,
                "tractor": one.tractor,
                "owner": one.owner,
                "machine": one.machine,
                "machine_owner": one.machine_owner,
                "hours": day.hours,
                "late": day.late,
                "why": one.why,
            }
            for one in self.tasks
            for day in one.days or (DayPlan("", 0.0, late=False),)
        ]
        return sorted(rows, key=lambda row: (row["date"] == "", row["date"], row["member"], row["task"]))


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
    return planning(
        shed, found.wanted, tools, found.cells, areas=found.areas, paces=found.paces, without=without, only=only
    )


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
        remedies=tuple(Worded(remedy(fix, "si"), remedy(fix, "us")) for fix in cell.remedies),
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
        return "how long it takes is not known: say its land, its area or its hours"
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
