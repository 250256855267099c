"""Plans of a season by one rule of fairness or another, each with its price beside the plan that favours nobody."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from evener.scoring.shed.planning.model import DIGITS, EXACT, NODES, Level, Model, Solution
from evener.scoring.shed.planning.pieces import MOST_BY_DAY, spans_of
from evener.scoring.shed.planning.timetable import Planned, timetable

if TYPE_CHECKING:
    from evener.scoring.shed.planning.work import Season

LEAST = "least"
MANY = 8000
NEAR = 12


@dataclass(frozen=True)
class Rule:
    """One rule: what it minimises in order, and how that is said."""

    name: str
    levels: tuple[str, ...]
    label: str
    says: str


@dataclass(frozen=True)
class MemberShare:
    """What one member has of a plan.

    Attributes
    ----------
    asked_h, late_h, undone_h : hours of his work that the shed can do: all, done after its window, not done [h]
    beyond_h : hours of his work that nothing in the shed does [h]
    lent_h, borrowed_h : hours of his tractors at others' work, of others' at his [h]
    """

    member: str
    asked_h: float
    late_h: float
    undone_h: float
    beyond_h: float
    lent_h: float
    borrowed_h: float

    @property
    def share(self) -> float:
        """Late and undone hours over those asked [1]."""
        return (self.late_h + self.undone_h) / self.asked_h if self.asked_h > 0 else 0.0


@dataclass(frozen=True)
class Plan:
    """A season planned by one rule.

    Attributes
    ----------
    rule : the rule
    tasks : every task with its combination and days
    levels : what was minimised, with the bound that no plan can better
    undone : tasks that are not done, or not to the end
    late : amount that is done after its window, hectares and hours as tasks count them
    late_days : days of work after a window, over all tasks
    km : road driven [km]
    members : what each member has of it
    """

    rule: Rule
    tasks: tuple[Planned, ...]
    levels: tuple[Level, ...]
    undone: int
    late: float
    late_days: int
    km: float
    members: tuple[MemberShare, ...]

    @property
    def gap(self) -> float:
        """Largest distance of a level to its bound: of tasks, of the amount asked, and of the road driven [1]."""
        return max(
            ((one.value - one.bound) / max(1.0, one.scale) for one in self.levels if one.name != "order"),
            default=0.0,
        )


@lru_cache(maxsize=1)
def rules() -> dict[str, Rule]:
    """Return the rules of fairness by their names, as `rules.csv` has them."""
    text = resources.files("evener.scoring.shed.planning").joinpath("rules.csv").read_text(encoding="utf-8")
    return {
        row["rule"]: Rule(row["rule"], tuple(row["levels"].split()), row["label"], row["says"])
        for row in csv.DictReader(text.splitlines())
    }


def plan(
    season: Season,
    rule: str = LEAST,
    *,
    by_hours: bool = False,
    turn: Sequence[str] = (),
    gap: float = EXACT,
    nodes: int = NODES,
    most_by_day: int = MOST_BY_DAY,
) -> Plan:
    """Plan a season by a rule.

    Parameters
    ----------
    season : the work
    rule : name of the rule
    by_hours : whether members' shares are taken by hours, not by hectares
    turn : members in the order of their turn
    gap : relative distance to the bound that is good enough [1]
    nodes : nodes of each search
    most_by_day : days of all combinations up to which single days are told apart

    Raises
    ------
    LookupError
        There is no such rule.
    """
    settled = rules()[rule]
    whole, season = season, season if len(season.combinations) <= MANY else season.nearest(NEAR)
    model = Model(season, spans_of(season, most_by_day), by_hours=by_hours, turn=turn)
    solution = model.solve(settled.levels, gap=gap, nodes=nodes) or Solution((None,) * len(season.tasks), {}, ())
    tasks = timetable(season, solution, settled.levels, by_hours=by_hours, turn=turn)
    late = sum(_late(season, one) for one in tasks)
    levels = solution.levels if season is whole else _bounded(whole, solution.levels)
    return Plan(
        settled,
        _numbered(whole, season, tasks),
        _as_timed(season, tasks, levels),
        undone=sum(1 for one in tasks if one.combination is None or one.left_h > 0),
        late=round(late, 4),
        late_days=sum(one.late_days for one in tasks),
        km=round(sum(season.combinations[one.combination].km for one in tasks if one.combination is not None), 4),
        members=_members(season, model, tasks),
    )


def _numbered(whole: Season, season: Season, tasks: Sequence[Planned]) -> tuple[Planned, ...]:
    """Return tasks with the numbers that their combinations have among all."""
    if season is whole:
        return tuple(tasks)
    number = {one: place for place, one in enumerate(whole.combinations)}
    return tuple(
        one if one.combination is None else replace(one, combination=number[season.combinations[one.combination]])
        for one in tasks
    )


def _bounded(whole: Season, levels: Sequence[Level]) -> tuple[Level, ...]:
    """Return levels with bounds that hold for all combinations, where only the nearest were searched.

    No plan leaves fewer undone than have no combination at all, nor drives less than each task by its nearest
    combination would; the latter where as few are undone as can be.
    """
    nearest: dict[int, float] = {}
    for one in whole.combinations:
        nearest[one.task] = min(one.km, nearest.get(one.task, one.km))
    bounds = {"undone": float(len(whole.tasks) - len(nearest)), "km": sum(nearest.values())}
    undone = next((one.value for one in levels if one.name == "undone"), 0.0)
    if undone > bounds["undone"]:
        bounds["km"] = 0.0
    return tuple(replace(one, bound=min(one.value, bounds.get(one.name, 0.0))) for one in levels)


def _as_timed(season: Season, tasks: Sequence[Planned], levels: Sequence[Level]) -> tuple[Level, ...]:
    """Return levels with what the days found really give, where they differ from what spans of days promised."""
    late = sum(_late(season, one) for one in tasks)
    undone = float(sum(1 for one in tasks if one.combination is None or one.left_h > 0))
    real = {"late": round(late, DIGITS), "undone": undone}
    return tuple(replace(one, value=max(one.value, real.get(one.name, one.value))) for one in levels)


def _late(season: Season, one: Planned) -> float:
    if one.combination is None:
        return 0.0
    hours = sum(day.hours for day in one.days if day.late)
    return season.tasks[one.task].amount * hours / season.combinations[one.combination].hours if hours else 0.0


def _members(season: Season, model: Model, tasks: Sequence[Planned]) -> tuple[MemberShare, ...]:
    names = [task.member for task in season.tasks]
    names += [*season.owner_of_tractor, *season.owner_of_machine]
    able = {one.task for one in season.combinations}
    sums = {name: [0.0] * 6 for name in dict.fromkeys(names)}
    for one in tasks:
        member = season.tasks[one.task].member
        of = sums[member]
        if one.combination is None:
            asked = model.aims.least_hours(one.task)
            if one.task in able:
                of[0] += asked
                of[2] += asked
            else:
                of[3] += asked
            continue
        way = season.combinations[one.combination]
        worked = sum(day.hours for day in one.days)
        of[0] += way.hours
        of[1] += sum(day.hours for day in one.days if day.late)
        of[2] += one.left_h
        owner = season.owner_of_tractor[way.tractor] if way.tractor < len(season.owner_of_tractor) else member
        if owner != member:
            sums[owner][4] += worked
            of[5] += worked
    return tuple(MemberShare(name, *(round(value, 4) for value in of)) for name, of in sums.items())
