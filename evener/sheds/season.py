"""A planned season, as it is told: the calendar, rules side by side, what each member has of it, and what clashes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer, Worded

if TYPE_CHECKING:
    from evener.scoring.core.printing import Units


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
    within : distance to what no plan can better [1]
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
    within: float
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
