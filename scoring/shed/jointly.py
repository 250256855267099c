"""What to own together: each candidate by the work it makes possible, for whom, and how its cost is split.

A candidate is a tractor or a machine that would stand at one member's home and be lent as any other. Its worth is found
by planning the season with it: hours no longer undone, and no longer late. What it costs is split twice: by the hours
each member uses it, and by what each adds to the size that is needed (Shapley).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.shed.planning.plan import LEAST, Plan, plan
from evener.scoring.shed.shapley import Split, split

if TYPE_CHECKING:
    from evener.scoring.shed.planning.work import Season


@dataclass(frozen=True)
class Worth:
    """What a candidate, or a pair, is worth in a season.

    Attributes
    ----------
    undone_less_h, late_less_h : hours that are done with it and not without, and in time with it and not without [h]
    km_less : road that is not driven [km]; negative where more is
    used_h : hours it works, by member [h]
    gains_h : undone and late hours each member is spared, by member [h]
    """

    undone_less_h: float
    late_less_h: float
    km_less: float
    used_h: dict[str, float]
    gains_h: dict[str, float]

    @property
    def total_h(self) -> float:
        """Hours it makes possible or timely [h]."""
        return self.undone_less_h + self.late_less_h


def worth(before: Plan, season: Season, things: Sequence[tuple[str, int]], *, gap: float) -> Worth:
    """Return what new things are worth.

    Parameters
    ----------
    before : the season planned without them
    season : the season with them
    things : the new things, as (kind, number)
    gap : relative distance to the bound that is good enough [1]
    """
    after = plan(season, LEAST, gap=gap)
    was = {one.member: one for one in before.members}
    used: dict[str, float] = {}
    for one in after.tasks:
        if one.combination is None:
            continue
        way = season.combinations[one.combination]
        if ("tractor", way.tractor) in things or ("machine", way.machine) in things:
            member = season.tasks[one.task].member
            used[member] = used.get(member, 0.0) + sum(day.hours for day in one.days)
    gains: dict[str, float] = {}
    undone = late = 0.0
    for now in after.members:
        then = was.get(now.member)
        if then is None:
            continue
        undone += then.undone_h + then.beyond_h - now.undone_h - now.beyond_h
        late += then.late_h - now.late_h
        spared = then.undone_h + then.beyond_h + then.late_h - now.undone_h - now.beyond_h - now.late_h
        if spared:
            gains[now.member] = round(spared, 4)
    return Worth(
        round(undone, 4),
        round(late, 4),
        round(before.km - after.km, 4),
        {member: round(hours, 4) for member, hours in used.items()},
        gains,
    )


def by_use(cost: float, used_h: dict[str, float]) -> dict[str, float]:
    """Split a cost by the hours each member uses a thing."""
    total = sum(used_h.values())
    return {member: cost * hours / total for member, hours in used_h.items()} if total > 0 else {}


def by_need(members: Sequence[str], needs: Callable[[frozenset[str]], float]) -> tuple[dict[str, float], Split]:
    """Split a cost by what each member adds to it (Shapley).

    Parameters
    ----------
    members : who takes part
    needs : cost of the cheapest thing that serves some of them
    """
    found = split(len(members), lambda some: needs(frozenset(members[one] for one in some)))
    return dict(zip(members, found.shares, strict=True)), found
