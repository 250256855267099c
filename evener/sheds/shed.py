"""A shed opened from its folder: everything that can be asked of it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from evener.enquiry.refused import WrongUse
from evener.scoring.core.draws import Draws
from evener.scoring.shed.matrix import DRAWS, Matrix, matrix
from evener.sheds import checking, covering

if TYPE_CHECKING:
    from evener.enquiry.sheds import ReadShed
    from evener.schema.records import Tractor
    from evener.schema.shed import Shed as Record
    from evener.sheds.checking import ShedCheck
    from evener.sheds.covering import Cover


class Shed:
    """A shed with the records it rests on. Open one with `Store.open_shed`.

    Attributes
    ----------
    read : the shed as it was read, with what was noticed
    """

    def __init__(self, read: ReadShed) -> None:
        self.read = read

    def __repr__(self) -> str:
        return f"Shed({self.read.name!r})"

    @property
    def record(self) -> Record:
        """The shed itself.

        Raises
        ------
        evener.JobRefused
            Nothing can be planned with it; `.findings` has every mistake with its line.
        """
        return self.read.usable()

    @cached_property
    def classes(self) -> tuple[Tractor, ...]:
        """Generic tractors, which stand in for what a record does not state."""
        return tuple(one for one in self.read.holdings.tractors if one.kind == "class")

    @cached_property
    def found(self) -> Matrix:
        """What every combination does of every task."""
        return matrix(self.record, self.read.holdings.library, self.classes, draws=Draws(n=DRAWS))

    def check(self) -> ShedCheck:
        """Say what is missing, double or impossible, before anything is computed."""
        return checking.check(self.read)

    def cover(self, tasks: Sequence[str] = ()) -> Cover:
        """Say which combination does which task, what hangs on one thing, and what fails without each.

        Parameters
        ----------
        tasks : names of members, or of tasks; all where left out

        Raises
        ------
        evener.JobRefused, evener.WrongUse
            The shed is refused, or a name is neither a member's nor a task's.
        """
        return covering.cover(self.record, self.found, self.numbers(tasks), draws=DRAWS)

    def numbers(self, tasks: Sequence[str]) -> tuple[int, ...]:
        """Return the numbers of the tasks that names mean: a member's are all of his."""
        if not tasks:
            return tuple(one.number for one in self.found.wanted)
        found: list[int] = []
        for name in tasks:
            said = name.strip().casefold()
            meant = [
                one.number
                for one in self.found.wanted
                if said in (one.member.name.casefold(), one.task.name.casefold(), one.label.casefold())
            ]
            if not meant:
                raise WrongUse(f"task: nobody and nothing here is called {name!r}; evener shed lists members")
            found += meant
        return tuple(sorted(set(found)))
