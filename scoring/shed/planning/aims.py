"""What a plan can aim at, level by level: each a row of the model to be made as small as can be."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.shed.planning.pieces import Piece
    from evener.scoring.shed.planning.work import Season

Row = dict[int, float]


class Aims:
    """The levels of a season.

    Columns are one per combination (chosen), one per piece (days worked), one for the largest share of a member, and
    one that is always one, by which a constant is added.

    Parameters
    ----------
    season : the work
    spans : spans of days the model tells apart
    pieces : days of each combination by spans
    by_hours : whether members' shares are taken by hours, not by hectares
    turn : members in the order of their turn
    of : the season this one is a choice from, by which it is told what could be done at all
    """

    def __init__(
        self,
        season: Season,
        spans: Sequence[range],
        pieces: Sequence[Piece],
        *,
        by_hours: bool = False,
        turn: Sequence[str] = (),
        of: Season | None = None,
    ) -> None:
        self.season, self.spans, self.pieces = season, tuple(spans), tuple(pieces)
        self.ways, self.tasks = len(season.combinations), len(season.tasks)
        self.share = self.ways + len(self.pieces)
        self.one = self.share + 1
        self.width = self.one + 1
        self.by_hours, self.turn = by_hours, tuple(turn)
        whole = season if of is None else of
        self.able = {one.task for one in whole.combinations}
        self.own = sorted({one.task for one in whole.combinations if whole.is_own(one)})
        self._least: dict[int, float] = {}
        for one in whole.combinations:
            self._least[one.task] = min(one.hours, self._least.get(one.task, one.hours))

    def least_hours(self, task: int) -> float:
        """Return the hours a task takes with its fastest combination [h]."""
        return self._least.get(task, self.season.tasks[task].hours)

    def weight(self, task: int) -> float:
        """Return what of a task counts as late or undone: its amount, or its hours where those are asked for."""
        return self.least_hours(task) if self.by_hours else self.season.tasks[task].amount

    def missed(self, tasks: Sequence[int]) -> tuple[Row, float]:
        """Return, as a row and a constant, how much of these tasks is late or undone."""
        wanted = set(tasks)
        row: Row = {}
        for number, one in enumerate(self.season.combinations):
            if one.task in wanted:
                row[number] = -self.weight(one.task)
        for column, value in self._late.items():
            task = self.season.combinations[self.pieces[column - self.ways].combination].task
            if task in wanted:
                row[column] = value * self.weight(task) / self.season.tasks[task].amount
        return row, sum(self.weight(task) for task in tasks)

    @cached_property
    def _late(self) -> Row:
        """Return the amount that a late day of each piece is worth."""
        late = {}
        for index, piece in enumerate(self.pieces):
            one = self.season.combinations[piece.combination]
            if piece.late and one.hours > 0:
                late[self.ways + index] = self.season.tasks[one.task].amount * piece.rate / one.hours
        return late

    def shares(self) -> list[tuple[Row, float]]:
        """Return, for each member, the row that holds his share of late and undone work under the largest.

        What nothing in the shed does is no rule's fault and is left out.
        """
        rows = []
        for member in dict.fromkeys(task.member for task in self.season.tasks):
            own = [
                number for number, task in enumerate(self.season.tasks) if task.member == member and number in self.able
            ]
            total = sum(self.weight(number) for number in own)
            row, constant = self.missed(own)
            if total > 0:
                scaled = {column: value / total for column, value in row.items()}
                rows.append(({**scaled, self.share: -1.0}, -constant / total))
        return rows

    def task_of(self, piece: Piece) -> int:
        """Return the task a piece is of."""
        return self.season.combinations[piece.combination].task

    def objective(self, level: str) -> tuple[Row, float]:
        """Return what a level minimises, as a row and a constant."""
        season = self.season
        if level == "undone":
            return dict.fromkeys(range(self.ways), -1.0), float(self.tasks)
        if level == "late":
            return self._late, 0.0
        if level == "km":
            return {number: one.km for number, one in enumerate(season.combinations) if one.km}, 0.0
        if level == "own":
            return self.missed(self.own)
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

    def _left(self) -> Row:
        """Return the hours of chosen combinations that are not worked."""
        asked = {number: one.hours for number, one in enumerate(self.season.combinations)}
        return asked | {self.ways + index: -piece.rate for index, piece in enumerate(self.pieces)}

    def _early(self) -> Row:
        """Return what each day costs: later ones more, and the more so the earlier the task's window closes."""
        tasks = self.season.tasks
        order = sorted(range(self.tasks), key=lambda number: (tasks[number].last, tasks[number].first, number))
        weight = {task: 1.0 + (self.tasks - place) / self.tasks for place, task in enumerate(order)}
        return {
            self.ways + index: weight[self.task_of(piece)] * (1 + self.spans[piece.span].start) * piece.rate
            for index, piece in enumerate(self.pieces)
        }

    def _by_turn(self) -> tuple[Row, float]:
        row: Row = {}
        constant = 0.0
        names = self.turn or tuple(dict.fromkeys(task.member for task in self.season.tasks))
        for place, member in enumerate(names):
            own = [number for number, task in enumerate(self.season.tasks) if task.member == member]
            missed, asked = self.missed(own)
            weight = float(len(names) - place)
            constant += weight * asked
            for column, value in missed.items():
                row[column] = row.get(column, 0.0) + weight * value
        return row, constant

    def _order(self) -> Row:
        """Return the place of each combination among its task's, earlier tasks counting more."""
        row, seen = {}, [0] * self.tasks
        for number, one in enumerate(self.season.combinations):
            row[number] = seen[one.task] * (1.0 + (self.tasks - one.task) / self.tasks)
            seen[one.task] += 1
        return row
