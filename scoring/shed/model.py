"""The plan as a mixed integer model: which combination does each task, in which days, in the order of what matters.

A task is done whole by one combination or not at all. Its hours lie on the days of its window; on later days, while
they last, they are late. What a task has of a day is the share of it that its combination is busy: on no day are the
shares of one tractor, of one machine, or of one owner's drivers more than there are. Since tractors lie within owners
and machines stand by themselves, shares that fit a day can always be put one after the other within it, so that a
thing is in one place at a time.

What matters is minimised in order, each held at its best while the next is sought (`LEVELS`). The solver is HiGHS by
`scipy.optimize.milp`, stopped by its gap or its nodes and never by the clock: the same work gives the same plan.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.scoring.shed.work import Season


MOST_BY_DAY = 20_000
WEEK = 7
STEPS = (1, 2, 3, WEEK)
EXACT = 1e-6
HELD = 1e-7
NODES = 20_000
WHOLE = 0.5
DIGITS = 6
TIES = 1e-3
NOTHING = 1e-9
INFEASIBLE = 2


class NoPlan(RuntimeError):
    """The solver gave no plan, though leaving every task undone is one; the text has its words."""


@dataclass(frozen=True)
class Piece:
    """Days on which one combination can work on its task, alike for the model.

    Attributes
    ----------
    combination : number of the combination
    span : number of the span of days
    days : how many of them [d]
    rate : hours a whole day is worth, by the day's length and how often it can be worked [h/d]
    late : whether they come after the window
    """

    combination: int
    span: int
    days: float
    rate: float
    late: bool


@dataclass(frozen=True)
class Level:
    """What was reached at one level: the plan's value, the bound that no plan can better, and what they are part of."""

    name: str
    value: float
    bound: float
    scale: float = 1.0


@dataclass(frozen=True)
class Solution:
    """A plan of the model.

    Attributes
    ----------
    chosen : by task, the number of its combination; None where it is left undone
    hours : hours of each piece that is worked
    levels : what was minimised, in order
    """

    chosen: tuple[int | None, ...]
    hours: dict[int, float]
    levels: tuple[Level, ...]


def spans_of(season: Season, most: int = MOST_BY_DAY) -> tuple[range, ...]:
    """Return the spans of days that the model tells apart: single days while they are few enough, weeks at most."""
    days = len(season.day_h)
    rough = sum(
        min(days, season.tasks[one.task].last + season.late_days + 1) - season.tasks[one.task].first
        for one in season.combinations
    )
    step = next((step for step in STEPS if rough <= most * step), WEEK)
    return tuple(range(first, min(first + step, days)) for first in range(0, days, step))


def pieces_of(season: Season, spans: Sequence[range]) -> list[Piece]:
    """Return the days of every combination by spans, in its task's window and after it."""
    found = []
    span_of = {day: number for number, span in enumerate(spans) for day in span}
    for number, one in enumerate(season.combinations):
        task = season.tasks[one.task]
        summed: dict[tuple[int, bool], list[float]] = {}
        for day in range(task.first, min(task.last + season.late_days, len(season.day_h) - 1) + 1):
            hours = season.hours_on(one.task, day)
            if hours > 0 and season.lent(one, day):
                kept = summed.setdefault((span_of[day], day > task.last), [0.0, 0.0])
                kept[0] += 1.0
                kept[1] += hours
        found += [
            Piece(number, span, count, hours / count, late) for (span, late), (count, hours) in sorted(summed.items())
        ]
    return found


class Model:
    """Variables and rows of a season.

    Parameters
    ----------
    season : the work
    spans : spans of days it tells apart
    by_hours : whether members' shares are taken by hours, not by hectares
    turn : members in the order of their turn
    parts : whether a task may be begun and not be done to its end
    of : the season this one is a choice from, by which it is told what could be done at all
    """

    def __init__(
        self,
        season: Season,
        spans: Sequence[range],
        *,
        by_hours: bool = False,
        turn: Sequence[str] = (),
        parts: bool = False,
        of: Season | None = None,
    ) -> None:
        self.season = season
        self.spans = tuple(spans)
        self.pieces = pieces_of(season, spans)
        reach = np.zeros(len(season.combinations))
        for piece in self.pieces:
            reach[piece.combination] += piece.days * piece.rate
        self.parts = parts
        self.can = [
            bool(reach[number] >= one.hours * (1 - NOTHING) and reach[number] > 0) or parts
            for number, one in enumerate(season.combinations)
        ]
        self.ways, self.tasks = len(season.combinations), len(season.tasks)
        # Columns: one per combination (chosen), one per piece (days worked), one for the largest share of a member,
        # and one that is always one, by which a constant is added.
        self.share = self.ways + len(self.pieces)
        self.one = self.share + 1
        self.width = self.one + 1
        self.by_hours, self.turn = by_hours, tuple(turn)
        whole = season if of is None else of
        self.able = {one.task for one in whole.combinations}
        self.own = sorted({one.task for one in whole.combinations if whole.is_own(one)})
        self._rows: list[tuple[dict[int, float], float, float]] = []
        self._build()

    def least_hours(self, task: int) -> float:
        """Return the hours a task takes with its fastest combination [h]."""
        hours = [one.hours for one in self.season.combinations if one.task == task]
        return min(hours) if hours else self.season.tasks[task].hours

    def weight(self, task: int) -> float:
        """Return what of a task counts as late or undone: its amount, or its hours where those are asked for."""
        return self.least_hours(task) if self.by_hours else self.season.tasks[task].amount

    def _build(self) -> None:
        season = self.season
        by_task: dict[int, dict[int, float]] = {}
        hours: list[dict[int, float]] = [{number: -one.hours} for number, one in enumerate(season.combinations)]
        busy: dict[tuple[str, object, int], dict[int, float]] = {}
        for number, one in enumerate(season.combinations):
            by_task.setdefault(one.task, {})[number] = 1.0
        for index, piece in enumerate(self.pieces):
            column, one = self.ways + index, season.combinations[piece.combination]
            hours[piece.combination][column] = piece.rate
            busy.setdefault(("tractor", one.tractor, piece.span), {})[column] = 1.0
            if one.machine is not None:
                busy.setdefault(("machine", one.machine, piece.span), {})[column] = 1.0
            owner = season.driver_of(one.tractor)
            if owner is not None:
                busy.setdefault(("drivers", owner, piece.span), {})[column] = 1.0
        self._rows += [(by_task.get(task, {}), -np.inf, 1.0) for task in range(self.tasks)]
        # Hours worked are the hours asked; of a task done in part they are at most those.
        self._rows += [(row, -np.inf if self.parts else 0.0, 0.0) for row in hours]
        for (kind, thing, span), row in sorted(
            busy.items(), key=lambda item: (item[0][0], str(item[0][1]), item[0][2])
        ):
            days = float(len(self.spans[span]))
            many = season.drivers[str(thing)] if kind == "drivers" else 1
            if len(row) > 1 or many == 0:
                self._rows.append((row, -np.inf, days * many))
        self._rows += [(row, -np.inf, high) for row, high in self._shares()]
        self._rows += [(row, -np.inf, 0.0) for row in self._one_after_another()]

    def _one_after_another(self) -> list[dict[int, float]]:
        """Return, for each span, the row that holds what is done of a task under what is done of the one before it."""
        done: dict[int, dict[int, dict[int, float]]] = {}
        for index, piece in enumerate(self.pieces):
            one = self.season.combinations[piece.combination]
            if one.hours > 0:
                share = piece.rate / one.hours
                done.setdefault(one.task, {}).setdefault(piece.span, {})[self.ways + index] = share
        rows = []
        for task, before in self.season.after:
            for span in sorted(done.get(task, {})):
                row = {column: share for at, of in done[task].items() if at <= span for column, share in of.items()}
                for at, of in done.get(before, {}).items():
                    if at <= span:
                        row |= {column: -share for column, share in of.items()}
                rows.append(row)
        return rows

    def _shares(self) -> list[tuple[dict[int, float], float]]:
        """Return, for each member, the row that holds his share of late and undone work under the largest.

        What nothing in the shed does is no rule's fault and is left out.
        """
        rows = []
        for member in dict.fromkeys(task.member for task in self.season.tasks):
            own = [
                number for number, task in enumerate(self.season.tasks) if task.member == member and number in self.able
            ]
            total = sum(self.weight(number) for number in own)
            row, constant = self._missed(own)
            if total > 0:
                scaled = {column: value / total for column, value in row.items()}
                rows.append(({**scaled, self.share: -1.0}, -constant / total))
        return rows

    def _missed(self, tasks: Sequence[int]) -> tuple[dict[int, float], float]:
        """Return, as a row and a constant, how much of these tasks is late or undone."""
        wanted = set(tasks)
        row: dict[int, float] = {}
        for number, one in enumerate(self.season.combinations):
            if one.task in wanted:
                row[number] = -self.weight(one.task)
        for column, value in self._late().items():
            task = self.season.combinations[self.pieces[column - self.ways].combination].task
            if task in wanted:
                row[column] = value * self.weight(task) / self.season.tasks[task].amount
        return row, sum(self.weight(task) for task in tasks)

    def _late(self) -> dict[int, float]:
        """Return the amount that a late day of each piece is worth."""
        late = {}
        for index, piece in enumerate(self.pieces):
            one = self.season.combinations[piece.combination]
            if piece.late and one.hours > 0:
                late[self.ways + index] = self.season.tasks[one.task].amount * piece.rate / one.hours
        return late

    def objective(self, level: str) -> tuple[dict[int, float], float]:
        """Return what a level minimises, as a row and a constant."""
        season = self.season
        if level == "undone":
            return dict.fromkeys(range(self.ways), -1.0), float(self.tasks)
        if level == "late":
            return self._late(), 0.0
        if level == "km":
            return {number: one.km for number, one in enumerate(season.combinations) if one.km}, 0.0
        if level == "own":
            return self._missed(self.own)
        if level == "share":
            return {self.share: 1.0}, 0.0
        if level == "turn":
            return self._by_turn()
        if level == "left":
            return self._left(), 0.0
        if level == "early":
            return self._early(), 0.0
        if level == "order":
            return self._order(), 0.0
        raise LookupError(f"no level {level!r}")

    def scale(self, level: str, value: float = 0.0) -> float:
        """Return what a level's value is part of: all tasks, all that is asked; the road itself."""
        if level == "undone":
            return float(self.tasks)
        if level in ("late", "own", "turn"):
            return sum(task.amount for task in self.season.tasks)
        return value if level == "km" else 1.0

    def _left(self) -> dict[int, float]:
        """Return the hours of chosen combinations that are not worked."""
        asked = {number: one.hours for number, one in enumerate(self.season.combinations)}
        return asked | {self.ways + index: -piece.rate for index, piece in enumerate(self.pieces)}

    def _early(self) -> dict[int, float]:
        """Return what each day costs: later ones more, and the more so the earlier the task's window closes."""
        tasks = self.season.tasks
        order = sorted(range(self.tasks), key=lambda number: (tasks[number].last, tasks[number].first, number))
        weight = {task: 1.0 + (self.tasks - place) / self.tasks for place, task in enumerate(order)}
        return {
            self.ways + index: weight[self._task(piece)] * (1 + self.spans[piece.span].start) * piece.rate
            for index, piece in enumerate(self.pieces)
        }

    def _by_turn(self) -> tuple[dict[int, float], float]:
        row: dict[int, float] = {}
        constant = 0.0
        names = self.turn or tuple(dict.fromkeys(task.member for task in self.season.tasks))
        for place, member in enumerate(names):
            own = [number for number, task in enumerate(self.season.tasks) if task.member == member]
            missed, asked = self._missed(own)
            weight = float(len(names) - place)
            constant += weight * asked
            for column, value in missed.items():
                row[column] = row.get(column, 0.0) + weight * value
        return row, constant

    def _order(self) -> dict[int, float]:
        """Return the place of each combination among its task's, earlier tasks counting more."""
        row, seen = {}, [0] * self.tasks
        for number, one in enumerate(self.season.combinations):
            row[number] = seen[one.task] * (1.0 + (self.tasks - one.task) / self.tasks)
            seen[one.task] += 1
        return row

    def solve(
        self, levels: Sequence[str], *, gap: float = EXACT, nodes: int = NODES, must: Collection[int] = ()
    ) -> Solution | None:
        """Minimise the levels in their order.

        Parameters
        ----------
        levels : names of what matters, the first most
        gap : relative distance to the bound at which a level is good enough [1]
        nodes : nodes of the search after which the best plan found is taken, with its bound
        must : tasks that have to be done

        Returns
        -------
        Solution or None
            None where not all that must be done can be.

        Raises
        ------
        NoPlan
            The solver gave none.
        """
        upper = np.ones(self.width)
        upper[: self.ways] = self.can
        upper[self.ways : self.share] = [piece.days for piece in self.pieces]
        lower = np.zeros(self.width)
        lower[self.one] = 1.0
        whole = np.zeros(self.width)
        whole[: self.ways] = 1
        reached: list[Level] = []
        held = [(row, 1.0 if number in must else low, high) for number, (row, low, high) in enumerate(self._rows)]
        best = np.zeros(self.width)
        for level in levels:
            row, constant = self.objective(level)
            if level == "order" and gap > TIES:
                continue
            if not row:
                reached.append(Level(level, constant, constant, self.scale(level)))
                continue
            cost = np.zeros(self.width)
            cost[list(row)] = list(row.values())
            # The gap is one of what a level is part of: a late hectare in a thousand is near enough to none.
            cost[self.one] = part = self.scale(level) + constant
            found = milp(
                cost,
                integrality=whole,
                bounds=Bounds(lower, upper),
                constraints=_constraint(held, self.width),
                options={"mip_rel_gap": min(gap, WHOLE / part) if level == "undone" else gap, "node_limit": nodes},
            )
            if found.x is None and found.status == INFEASIBLE and must:
                return None
            if found.x is None:
                raise NoPlan(f"no plan at {level}: {found.message}")
            best = np.asarray(found.x)
            value = float(cost @ best) - part
            bound = found.mip_dual_bound - part if found.mip_dual_bound is not None else value
            best_value = _clean(value + constant)
            reached.append(
                Level(level, best_value, _clean(min(float(bound), value) + constant), self.scale(level, best_value))
            )
            held.append((row, -np.inf, value + HELD * max(1.0, abs(value))))
        return self._read(best, reached)

    def _read(self, best: NDArray[np.float64], reached: list[Level]) -> Solution:
        chosen: list[int | None] = [None] * self.tasks
        for number, one in enumerate(self.season.combinations):
            if best[number] > WHOLE:
                chosen[one.task] = number
        hours = {
            index: float(best[self.ways + index]) * piece.rate
            for index, piece in enumerate(self.pieces)
            if best[self.ways + index] > NOTHING and chosen[self._task(piece)] == piece.combination
        }
        return Solution(tuple(chosen), hours, tuple(reached))

    def _task(self, piece: Piece) -> int:
        return self.season.combinations[piece.combination].task


def _clean(value: float) -> float:
    """Return a value without the solver's dust."""
    return round(value, DIGITS) + 0.0


def _constraint(rows: Sequence[tuple[dict[int, float], float, float]], width: int) -> LinearConstraint:
    at: list[int] = []
    column: list[int] = []
    value: list[float] = []
    for number, (row, _, _) in enumerate(rows):
        at += [number] * len(row)
        column += row.keys()
        value += row.values()
    matrix = coo_array((value, (at, column)), shape=(len(rows), width)).tocsr()
    return LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows])
