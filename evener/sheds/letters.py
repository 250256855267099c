"""A letter to a member: what of his was used and assumed, what falls short, its remedies, whom to ask and when."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer, Worded
from evener.schema.certainty import is_unsure
from evener.scoring.core.printing import show
from evener.scoring.shed.cells import COVERS, DOES_NOT, NOT_KNOWN, WITH
from evener.sheds.words import named, plate, remedy, why

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import Tractor
    from evener.schema.shed import Shed
    from evener.scoring.core.printing import Units
    from evener.scoring.shed.cells import Cell
    from evener.scoring.shed.jobs import Wanted
    from evener.scoring.shed.matrix import Matrix
    from evener.sheds.season import Assignment, TaskPlan

REMEDIES = 3
USED = (
    ("pto_power_kw", "kW", "PTO power"),
    ("mass_kg", "kg", "mass"),
    ("hitch_lift_610_kg", "kg", "rear lift at 24 in (610 mm)"),
    ("loader_lift_kg", "kg", "loader lift"),
    ("hydraulic_flow_l_min", "L/min", "oil flow"),
)


@dataclass(frozen=True)
class Figure:
    """One figure of a tractor: what was used, or that it was assumed, so that it can be appealed against."""

    thing: str
    figure: str
    used: Worded[str] | None
    assumed: bool


@dataclass(frozen=True)
class Remedy:
    """One way out, the cheapest first: what to do, and with whom."""

    kind: str
    says: Worded[str]


@dataclass(frozen=True)
class Shortfall:
    """One task that his own tractor does not do, or is not known to: by how much, and three remedies."""

    task: str
    own: Worded[str]
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True)
class Visit:
    """One piece of work: on which days, with whose tractor and machine, and whom to ask."""

    member: str
    task: str
    days: str
    tractor: str
    machine: str
    ask: tuple[str, ...]
    late: bool


@dataclass(frozen=True)
class Letter(Answer):
    """What is to be said to one member.

    Attributes
    ----------
    shed, member : the shed, and to whom
    figures : his figures that were used, and those that had to be assumed
    appeals : figures which, read or weighed, would change an answer, and to what
    shortfalls : what falls short of his work, and remedies by their cost
    visits : his work, day by day
    lent : where his tractors and machines go
    undone : his work that is left, and why
    owed_before_h, owed_after_h : hours the others owe him, now and after the season [h]
    """

    shed: str
    member: str
    figures: tuple[Figure, ...]
    appeals: tuple[Worded[str], ...]
    shortfalls: tuple[Shortfall, ...]
    visits: tuple[Visit, ...]
    lent: tuple[Visit, ...]
    undone: tuple[str, ...]
    owed_before_h: float
    owed_after_h: float
    units: Units = field(default="us", repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per visit.

        Parameters
        ----------
        units : "si" or "us"
        """
        rows: list[dict[str, Any]] = self.to_dict(units)["visits"]
        return rows


def letter(shed: Shed, found: Matrix, plan: Assignment, member: str) -> Letter:
    """Return what is to be said to a member.

    Parameters
    ----------
    shed, found : the shed, and what its combinations do
    plan : the season
    member : his name
    """
    own = {number: one for number, one in enumerate(shed.tractors) if one.owner == member}
    cells = [cell for cell in found.cells if found.wanted[cell.task].member.name == member]
    balance = next((one for one in plan.members if one.member == member), None)
    job = next(one.job for one in shed.members if one.name == member)
    return Letter(
        shed.name,
        member,
        tuple(figure for tractor in own.values() for figure in _figures(tractor)),
        _appeals(found, own),
        tuple(_shortfalls(shed, found, member, own, cells, plan)),
        tuple(_visit(one) for one in plan.tasks if one.member == member and one.days),
        tuple(
            _visit(one)
            for one in plan.tasks
            if one.member != member and member in (one.owner, one.machine_owner) and one.days
        ),
        tuple(f"{one.task}: {one.why}" for one in plan.tasks if one.member == member and one.why is not None),
        0.0 if balance is None else balance.owed_before_h,
        0.0 if balance is None else balance.owed_after_h,
        shed.units if job is None else job.policy.units,  # type: ignore[arg-type]
    )


def _both(say: Any) -> Worded[str]:
    return Worded(say("si"), say("us"))


def _figures(tractor: Tractor) -> list[Figure]:
    found = []
    for name, unit, words in USED:
        value = getattr(tractor, name)
        if name == "loader_lift_kg" and value is None:
            continue
        used = None if value is None else _both(lambda units, value=value, unit=unit: show(value, unit, units))
        found.append(Figure(tractor.tractor_id, words, used, value is None or is_unsure(tractor.estimated, name)))
    return found


def _appeals(found: Matrix, own: dict[int, Tractor]) -> tuple[Worded[str], ...]:
    """Return, for each figure that decides and is assumed, from what value on the answer becomes another."""
    said: dict[str, Worded[str]] = {}
    for cell in found.cells:
        if cell.verdict != NOT_KNOWN or cell.tractor not in own:
            continue
        label = f"{own[cell.tractor].tractor_id} with {cell.tool} for {found.wanted[cell.task].label}"
        for one in cell.plates:
            words = _both(lambda units, one=one, label=label: f"{label}: {plate(one, units)}")
            said.setdefault(f"{cell.tractor} {one.field} {cell.task}", words)
    return tuple(said.values())


def _shortfalls(
    shed: Shed,
    found: Matrix,
    member: str,
    own: dict[int, Tractor],
    cells: Sequence[Cell],
    plan: Assignment,
) -> list[Shortfall]:
    told = []
    for wanted in found.wanted:
        if wanted.member.name != member:
            continue
        of = [cell for cell in cells if cell.task == wanted.number]
        mine = [cell for cell in of if cell.tractor in own]
        if any(cell.verdict in COVERS and cell.verdict != WITH for cell in mine):
            continue
        nearest = max(
            mine, key=lambda cell: (cell.verdict != DOES_NOT, cell.chance, -(cell.short or 1.0)), default=None
        )
        label = "" if nearest is None else f"{own[nearest.tractor].tractor_id} with {nearest.tool}"
        words = (
            Worded("nothing of yours was held against it", "nothing of yours was held against it")
            if nearest is None
            else _both(lambda units, cell=nearest, label=label: f"{label} {cell.verdict}: {why(cell).in_units(units)}")
        )
        told.append(
            Shortfall(
                wanted.task.name, words, tuple(_cures(shed, of, mine, nearest, wanted.task.family, _lent(plan, wanted)))
            )
        )
    return told


def _lent(plan: Assignment, wanted: Wanted) -> str | None:
    """Return whom to ask for what, as the season has it; None where nothing of another's comes."""
    for one in plan.tasks:
        if (one.member, one.task) == (wanted.member.name, wanted.task.name) and one.tractor is not None:
            others = [name for name in dict.fromkeys((one.owner, one.machine_owner)) if name != one.member]
            if others:
                return f"ask {' and '.join(map(str, others))} for {one.tractor} with {one.machine}, as planned"
    return None


def _cures(
    shed: Shed,
    of: Sequence[Cell],
    mine: Sequence[Cell],
    nearest: Cell | None,
    family: str,
    planned: str | None,
) -> list[Remedy]:
    """Return up to three remedies in the order of their cost: read a figure, fit what he has, borrow, hire, own."""
    remedies: list[Remedy] = []
    known = nearest is not None and nearest.verdict == NOT_KNOWN
    if nearest is not None and known:
        remedies.append(Remedy("read", _both(lambda units: "; ".join(plate(one, units) for one in nearest.plates))))
    fitted = next((cell for cell in mine if cell.verdict == WITH), None)
    if fitted is not None:
        remedies.append(Remedy("fit", _both(lambda units: "; ".join(remedy(one, units) for one in fitted.remedies))))
    lenders = [cell for cell in of if cell.covers and cell not in mine]
    if planned is not None:
        remedies.append(Remedy("borrow", Worded(planned, planned)))
    elif lenders:
        cell = min(lenders, key=lambda cell: (cell.verdict == WITH, cell.hours or 0.0, cell.tractor))
        tractor = shed.tractors[cell.tractor]
        text = f"ask {tractor.owner} for {tractor.tractor_id} with {cell.tool}"
        remedies.append(Remedy("borrow", Worded(text, text)))
    hours = min((cell.hours for cell in of if cell.hours is not None), default=None)
    long = "" if hours is None else f" for about {hours:.0f} h"
    kind = family.replace("_", " ")
    hire = f"hire it done{long}" if of else f"hire it done, or borrow a {kind} from outside the shed"
    remedies.append(Remedy("hire", Worded(hire, hire)))
    need = _need(nearest)
    if need is not None:
        remedies.append(Remedy("own", need))
    else:
        text = f"own a {kind} together: ask the shed which"
        remedies.append(Remedy("own", Worded(text, text)))
    return remedies[:REMEDIES]


def _need(nearest: Cell | None) -> Worded[str] | None:
    if nearest is None or nearest.verdict != DOES_NOT or nearest.need is None or nearest.unit is None:
        return None
    need, unit, axis = nearest.need, nearest.unit, named(nearest.axis or "")
    return _both(lambda units: f"own, or own together, a tractor with {axis} from {show(need, unit, units)} on")


def _visit(one: TaskPlan) -> Visit:
    first, last = (dt.date.fromisoformat(one.days[place].date) for place in (0, -1))
    days = _day(first) if first == last else f"{_day(first)} to {_day(last)}, {len(one.days)} days"
    ask = tuple(dict.fromkeys(name for name in (one.owner, one.machine_owner) if name and name != one.member))
    return Visit(
        one.member, one.task, days, one.tractor or "", one.machine or "", ask, any(day.late for day in one.days)
    )


def _day(day: dt.date) -> str:
    return f"{day:%A} {day.day} {day:%B}"
