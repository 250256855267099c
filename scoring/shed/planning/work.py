"""What is to be planned: tasks with their days, the combinations that can do each, and the hours everything has.

A plan's things are numbered in the order of the shed file, and that order breaks every tie: of two equal plans the one
whose earlier tasks have the earlier tractors and machines. Names decide nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace


@dataclass(frozen=True)
class Work:
    """One task to be done once.

    Attributes
    ----------
    name, member : what and whose
    first, last : first and last day of its window, as numbers of the season's days
    amount : what is late when it is late: its hectares, or its hours where it goes by the hour [ha or h]
    day_h : hours a day there are for it; None for the season's [h]
    share : share of the days of its window on which it can be done; None for the season's [1]
    hours : hours it takes where no combination of the shed does it [h]
    """

    name: str
    member: str
    first: int
    last: int
    amount: float = 1.0
    day_h: float | None = None
    share: float | None = None
    hours: float = 1.0


@dataclass(frozen=True)
class Combination:
    """A tractor with a machine that can do a task.

    Attributes
    ----------
    task : number of the task
    tractor : number of the tractor
    machine : number of the machine, or None where the task needs none
    hours : hours of work, travel counted [h]
    km : road driven, there and back [km]
    """

    task: int
    tractor: int
    machine: int | None
    hours: float
    km: float = 0.0


@dataclass(frozen=True)
class Season:
    """Tasks, the combinations that can do them, and the hours that tractors, machines and drivers have.

    Attributes
    ----------
    tasks : in the order of the shed file
    combinations : every one that can do a task
    day_h : hours a day, on each day of the season; 0 where none is worked [h]
    share : how much of such a day can be worked, on each day of the season [1]
    owner_of_tractor : member whose drivers drive each tractor
    drivers : how many drive at once, by member; one who is not named has as many as tractors
    away : days on which a tractor or machine is not lent, as (kind, number, day)
    owner_of_machine : member who owns each machine
    late_days : days after its window within which a task may still be done, late
    after : tasks of which no more may be done than of another, as (the later, the one before it)
    """

    tasks: tuple[Work, ...]
    combinations: tuple[Combination, ...]
    day_h: tuple[float, ...]
    share: tuple[float, ...] = ()
    owner_of_tractor: tuple[str, ...] = ()
    drivers: Mapping[str, int] = field(default_factory=dict)
    owner_of_machine: tuple[str, ...] = ()
    away: frozenset[tuple[str, int, int]] = frozenset()
    late_days: int = 0
    after: tuple[tuple[int, int], ...] = ()

    def only(self, tasks: Iterable[int]) -> Season:
        """Return the season with these tasks alone, numbered anew in their order."""
        kept = sorted(set(tasks))
        number = {task: new for new, task in enumerate(kept)}
        combinations = tuple(replace(one, task=number[one.task]) for one in self.combinations if one.task in number)
        after = tuple((number[one], number[other]) for one, other in self.after if {one, other} <= number.keys())
        return replace(self, tasks=tuple(self.tasks[task] for task in kept), combinations=combinations, after=after)

    def nearest(self, most: int) -> Season:
        """Return the season with the most promising combinations of each task: the member's own, then by least road.

        Parameters
        ----------
        most : how many of each; of one tractor or one machine a third of them at first
        """
        of: dict[int, list[int]] = {}
        for number, one in enumerate(self.combinations):
            of.setdefault(one.task, []).append(number)
        kept: list[int] = []
        for numbers in of.values():
            order = sorted(
                numbers,
                key=lambda number: (
                    not self.is_own(self.combinations[number]),
                    self.combinations[number].km,
                    self.combinations[number].hours,
                    number,
                ),
            )
            taken: list[int] = []
            seen: dict[tuple[str, int], int] = {}
            for number in order:
                one = self.combinations[number]
                things = [("tractor", one.tractor)] + ([("machine", one.machine)] if one.machine is not None else [])
                if len(taken) < most and all(seen.get(thing, 0) < max(1, most // 3) for thing in things):
                    taken.append(number)
                    for thing in things:
                        seen[thing] = seen.get(thing, 0) + 1
            taken += [number for number in order if number not in taken][: most - len(taken)]
            kept += taken
        return self.with_combinations(self.combinations[number] for number in sorted(kept))

    def with_combinations(self, combinations: Iterable[Combination]) -> Season:
        """Return the season with other combinations."""
        return replace(self, combinations=tuple(combinations))

    def hours_on(self, task: int, day: int) -> float:
        """Return the hours that a day is worth to a task: its length by how much of such days can be worked [h]."""
        one = self.tasks[task]
        length = self.day_h[day]
        if length <= 0:
            return 0.0
        share = one.share if one.share is not None else self.share[day] if self.share else 1.0
        return (length if one.day_h is None else one.day_h) * share

    def driver_of(self, tractor: int) -> str | None:
        """Return whose drivers drive a tractor, where their number is known."""
        owner = self.owner_of_tractor[tractor] if tractor < len(self.owner_of_tractor) else None
        return owner if owner in self.drivers else None

    def is_own(self, one: Combination) -> bool:
        """Whether a combination is all the member's own whose task it does."""
        member = self.tasks[one.task].member
        if one.tractor >= len(self.owner_of_tractor) or self.owner_of_tractor[one.tractor] != member:
            return False
        machine = one.machine
        return machine is None or (machine < len(self.owner_of_machine) and self.owner_of_machine[machine] == member)

    def lent(self, one: Combination, day: int) -> bool:
        """Whether a combination is to be had on a day: what stays at home still does its owner's own work."""
        member = self.tasks[one.task].member
        for kind, number, owners in (
            ("tractor", one.tractor, self.owner_of_tractor),
            ("machine", one.machine, self.owner_of_machine),
        ):
            if number is None or (kind, number, day) not in self.away:
                continue
            if number >= len(owners) or owners[number] != member:
                return False
        return True
