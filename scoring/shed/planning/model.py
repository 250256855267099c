"""The plan as a mixed integer model: which combination does each task, in which days, in the order of what matters.

A task is done whole by one combination or not at all. Its hours lie on the days of its window; on later days, while
they last, they are late. What a task has of a day is the share of it that its combination is busy: on no day are the
shares of one tractor, of one machine, or of one owner's drivers more than there are. Since tractors lie within owners
and machines stand by themselves, shares that fit a day can always be put one after the other within it, so that a
thing is in one place at a time.

What matters (`aims`) is minimised in order, each held at its best while the next is sought. The solver is HiGHS by
`scipy.optimize.milp`, stopped by its gap or its nodes and never by the clock: the same work gives the same plan.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from evener.scoring.shed.planning.aims import Aims
from evener.scoring.shed.planning.pieces import pieces_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from evener.scoring.shed.planning.work import Season


EXACT = 1e-6
HELD = (1e-6, 1e-5, 1e-4)
NODES = 20_000
WHOLE = 0.5
DIGITS = 6
TIES = 1e-3
NOTHING = 1e-9
INFEASIBLE = 2


class NoPlan(RuntimeError):
    """The solver gave no plan, though leaving every task undone is one; the text has its words."""


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
        self.season, self.spans, self.parts = season, tuple(spans), parts
        self.pieces = pieces_of(season, spans)
        self.aims = Aims(season, spans, self.pieces, by_hours=by_hours, turn=turn, of=of)
        self.ways, self.tasks, self.width = self.aims.ways, self.aims.tasks, self.aims.width
        reach = np.zeros(self.ways)
        for piece in self.pieces:
            reach[piece.combination] += piece.days * piece.rate
        self.can = [
            bool(reach[number] >= one.hours * (1 - NOTHING) and reach[number] > 0) or parts
            for number, one in enumerate(season.combinations)
        ]
        self._rows: list[tuple[dict[int, float], float, float]] = []
        self._build()

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
        self._rows += [(row, -np.inf, high) for row, high in self.aims.shares()]
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
        upper[self.ways : self.aims.share] = [piece.days for piece in self.pieces]
        lower = np.zeros(self.width)
        lower[self.aims.one] = 1.0
        whole = np.zeros(self.width)
        whole[: self.ways] = 1
        reached: list[Level] = []
        best_at: list[tuple[dict[int, float], float]] = []
        held = [(row, 1.0 if number in must else low, high) for number, (row, low, high) in enumerate(self._rows)]
        best = np.zeros(self.width)
        for level in levels:
            row, constant = self.aims.objective(level)
            if level == "order" and gap > TIES:
                continue
            if not row:
                reached.append(Level(level, constant, constant, self.aims.scale(level)))
                continue
            cost = np.zeros(self.width)
            cost[list(row)] = list(row.values())
            # The gap is one of what a level is part of: a late hectare in a thousand is near enough to none.
            cost[self.aims.one] = part = self.aims.scale(level) + constant
            near = min(gap, WHOLE / part) if level == "undone" else gap
            for slack in HELD:
                # A value held closer than the solver's own tolerance may shut out the very plan that reached it.
                above = [(kept, -np.inf, most + slack * max(1.0, abs(most))) for kept, most in best_at]
                found = milp(
                    cost,
                    integrality=whole,
                    bounds=Bounds(lower, upper),
                    constraints=_constraint([*held, *above], self.width),
                    options={"mip_rel_gap": near, "node_limit": nodes},
                )
                if found.x is not None or not above:
                    break
            if found.x is None and found.status == INFEASIBLE and must:
                return None
            if found.x is None:
                raise NoPlan(f"no plan at {level}: {found.message}")
            best = np.asarray(found.x)
            value = float(cost @ best) - part
            bound = found.mip_dual_bound - part if found.mip_dual_bound is not None else value
            best_value = _clean(value + constant)
            reached.append(
                Level(
                    level, best_value, _clean(min(float(bound), value) + constant), self.aims.scale(level, best_value)
                )
            )
            best_at.append((row, value))
        return self._read(best, reached)

    def _read(self, best: NDArray[np.float64], reached: list[Level]) -> Solution:
        chosen: list[int | None] = [None] * self.tasks
        for number, one in enumerate(self.season.combinations):
            if best[number] > WHOLE:
                chosen[one.task] = number
        hours = {
            index: float(best[self.ways + index]) * piece.rate
            for index, piece in enumerate(self.pieces)
            if best[self.ways + index] > NOTHING and chosen[self.aims.task_of(piece)] == piece.combination
        }
        return Solution(tuple(chosen), hours, tuple(reached))


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
