"""What the answer comes to in one word: buy, hire instead, nothing to buy, or nothing listed that does this work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.ranking.arrangement import HIRED, LISTED, NOBODY, NOT_NAMED, Arranged, smallest_for
from evener.ranking.costed import Costed, costed
from evener.ranking.size_named import Size, size_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.ranking.choice import Choice
    from evener.ranking.filtered import Filtered
    from evener.scoring.questions.choosing import ByCost

BUY, HIRE_RATHER, HIRE_ALL, NONE_DOES, DOES_LITTLE = "buy", "hire rather", "hire all", "none does", "does little"
FAR_LESS = 0.5
MOSTLY, SURELY = 0.5, 0.9


@dataclass(frozen=True)
class Verdict:
    """What the answer comes to.

    Attributes
    ----------
    kind : buy; hire rather, where hiring all costs less than half of buying; hire all, where all of it may be hired and
        that costs least; none does, where no size does any of it; does little, where the pick does less than half
    named, does : how many tasks are named, and how many of them the pick or what is there does in most draws
    owned : for hire all, the smallest class that would do it all, with its money; None where none does
    left_out : for does little, the cheapest that a filter took out and that does more of it
    left_out_does : how many of the tasks that one does
    filter : what took it out
    """

    kind: str
    named: int
    does: int
    owned: Costed | None = None
    left_out: Size | None = None
    left_out_does: int | None = None
    filter: str | None = None


def verdict(chosen: Choice, picks: ByCost, of_all: ByCost, out: Sequence[Filtered]) -> Verdict:
    """Return what an answer comes to.

    Parameters
    ----------
    chosen : the choice
    picks, of_all : what was reckoned after filters, and before them
    out : what filters took out
    """
    named = [one for one in chosen.arrangement if one.kind != NOT_NAMED]
    without = [one for one in named if one.by in {HIRED, NOBODY}]
    kind, does = _kind(chosen, named, without), len(named) - len(without)
    if kind == HIRE_ALL:
        decision = picks.cheapest.decision
        tasks = [one.task for one in named]
        smallest = smallest_for(decision, tasks, SURELY) or smallest_for(decision, tasks)
        money = None if smallest is None else decision.cost([smallest])[0]
        return Verdict(kind, len(named), does, None if money is None else costed(money, money.expected, decision))
    if kind == DOES_LITTLE and of_all is not picks:
        best = of_all.cheapest.found[0]
        by_name = {one.task: one.taken + one.by_there for one in best.tasks}
        done = sum(by_name.get(one.task, 1.0) > MOSTLY for one in named)
        by = next((one.filter for one in out if one.best_removed == best.valued.tractor.tractor_id), None)
        if by is not None and done > does:
            return Verdict(kind, len(named), does, None, size_of(best.valued.tractor), done, by)
    return Verdict(kind, len(named), does)


def _kind(chosen: Choice, named: Sequence[Arranged], without: Sequence[Arranged]) -> str:
    for_hire = not chosen.not_for_hire
    if named and len(without) == len(named):
        if all(one.from_size is None for one in named):
            return NONE_DOES
        if for_hire and all(one.kind != LISTED for one in named):
            return HIRE_ALL
    if 2 * len(without) > len(named):
        return DOES_LITTLE
    paid = chosen.pick.a_year - chosen.pick.undone
    rather = for_hire and not chosen.there_does_all and chosen.hire_all < FAR_LESS * paid
    return HIRE_RATHER if rather else BUY
