"""A shed opened from its folder: everything that can be asked of it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from evener.enquiry.refused import Refused, WrongUse
from evener.scoring.core.draws import Draws
from evener.scoring.shed.lending import lent
from evener.scoring.shed.matrix import DRAWS, Matrix, matrix
from evener.scoring.shed.planning.model import EXACT
from evener.scoring.shed.planning.plan import rules
from evener.sheds import checking, covering
from evener.sheds.assigning import SIDE_BY_SIDE, Asked, assign
from evener.sheds.letters import Letter, letter
from evener.sheds.together import Jointly, own_jointly

if TYPE_CHECKING:
    from evener.enquiry.sheds import ReadShed
    from evener.schema.records import Tractor
    from evener.schema.shed import Shed as Record
    from evener.sheds.checking import ShedCheck
    from evener.sheds.covering import Cover
    from evener.sheds.season import Assignment

OWN_FIRST = "own_first"
BY = ("hectares", "hours")
AMONG = ("class", "stock")
MOST = 50
FEW = 5000
ONE_PER_CENT = 0.01


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
        found = matrix(self.record, self.read.holdings.library, self.classes, draws=Draws(n=DRAWS))
        return lent(self.record, found)

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

    def assign(
        self,
        *,
        rule: str = OWN_FIRST,
        beside: Sequence[str] = SIDE_BY_SIDE,
        by: str = "hectares",
        tasks: Sequence[str] = (),
        within: float | None = None,
    ) -> Assignment:
        """Plan the season: which combination does each task on which days, by rules of fairness side by side.

        Parameters
        ----------
        rule : the rule the calendar follows: least, own_first, equal_share or rotation
        beside : rules to set beside it
        by : hectares or hours: what members' shares are taken by
        tasks : names of members, or of tasks; all where left out
        within : relative distance to the bound that is good enough; exact for small sheds, 1 % for large ones, left out

        Raises
        ------
        evener.JobRefused, evener.WrongUse
            The shed is refused, or an argument is out of its bounds.
        """
        for name, value in (("rule", rule), *(("beside", one) for one in beside)):
            if value not in rules():
                raise WrongUse(f"{name} takes {', '.join(rules())}, not {value}")
        if by not in BY:
            raise WrongUse(f"by takes {' or '.join(BY)}, not {by}")
        if within is not None and not 0 <= within < 1:
            raise WrongUse(f"within takes a share from 0 to under 1, not {within}")
        near = within if within is not None else EXACT if len(self.found.cells) <= FEW else ONE_PER_CENT
        asked = Asked(rule, tuple(beside), by_hours=by == "hours", gap=near)
        return assign(self.record, self.found, asked, only=self.numbers(tasks) if tasks else None)

    def own_jointly(self, *, among: str = "class", top: int = 5, hire: float | None = None) -> Jointly:
        """Say what to own together: the tractor, machine or pair with most worth to the members, and how to split it.

        Parameters
        ----------
        among : kind of tractor to choose among, class or stock; machines are chosen among the store's that nobody owns
        top : how many to tell
        hire : what an hour of hired work costs, in the members' money; worth is told in hours where it is left out

        Raises
        ------
        evener.JobRefused, evener.WrongUse
            The shed is refused, or an argument is out of its bounds.
        """
        if among not in AMONG:
            raise WrongUse(f"among takes {' or '.join(AMONG)}, not {among}")
        if not 1 <= top <= MOST:
            raise WrongUse(f"top is a number from 1 to {MOST}, not {top}")
        if hire is not None and not 0 < hire < float("inf"):
            raise WrongUse(f"hire is an amount of money above 0, not {hire}")
        holdings = self.read.holdings
        return own_jointly(self.record, self.found, holdings, self.classes, among=among, top=top, hire=hire)

    def letter(self, owner: str, *, rule: str = OWN_FIRST) -> Letter:
        """Write to a member: what of his was used and assumed, what falls short, the remedies, whom to ask and when.

        Parameters
        ----------
        owner : his name
        rule : the rule the dates follow

        Raises
        ------
        evener.JobRefused, evener.Refused
            The shed is refused, or nobody of that name is a member.
        """
        names = {member.name.casefold(): member.name for member in self.record.members}
        names |= {
            alias.casefold(): names[meant.casefold()]
            for alias, meant in self.read.holdings.aliases.items()
            if meant.casefold() in names
        }
        if owner.strip().casefold() not in names:
            raise Refused(f"no member is called {owner!r}; there are {', '.join(names.values())}")
        plan = self.assign(rule=rule, beside=())
        return letter(self.record, self.found, plan, names[owner.strip().casefold()])

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
                raise Refused(f"no member and no task is called {name!r}. See: evener shed SHED")
            found += meant
        return tuple(sorted(set(found)))
