"""The pick by answer as it is told: neighbours with one pick together, and a stretch where it flips said as a band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from evener.scoring.decision.contenders import Pick


class Told(Protocol):
    """One part of what an answer may be, in words, with its share; a measure with its two ends."""

    @property
    def text(self) -> str:
        """In words."""

    @property
    def share(self) -> float:
        """Chance that it is this."""

    @property
    def ends(self) -> tuple[str, str] | None:
        """Where it is a measure, its two ends in words."""


class Opened(Protocol):
    """Something open, whose answer may be one of some parts."""

    @property
    def now(self) -> str:
        """What is taken until it is said."""

    @property
    def ordered(self) -> bool:
        """Whether neighbouring parts can be told as one."""

    @property
    def parts(self) -> Sequence[Told]:
        """What the answer may be."""


@dataclass(frozen=True)
class Outcome:
    """The pick for one part of an answer.

    Attributes
    ----------
    answer : the part in words
    share : chance that the answer is in it
    pick : the pick then; in a band the commonest
    or_else : the other picks of a band where it goes back and forth
    ends : where the answer is a measure, its two ends in words
    """

    answer: str
    share: float
    pick: Pick
    or_else: tuple[Pick, ...] = ()
    ends: tuple[str, str] | None = None


def in_order(found: Sequence[Outcome]) -> list[Outcome]:
    """Return neighbouring answers with one pick as one, and a stretch where the pick comes back as a band.

    Parameters
    ----------
    found : the parts of a range, the smallest first
    """
    runs = _joined(found)
    told: list[Outcome] = []
    place = 0
    while place < len(runs):
        last = _returns(runs, place)
        if last is None:
            told.append(runs[place])
            place += 1
        else:
            told += [runs[place], _band(runs[place + 1 : last])]
            place = last
    return told


def by_pick(found: Sequence[Outcome]) -> list[Outcome]:
    """Return answers that are words with one pick as one, in the order in which the picks first come."""
    groups: dict[str | None, Outcome] = {}
    for one in found:
        before = groups.get(one.pick.tractor_id)
        groups[one.pick.tractor_id] = (
            one
            if before is None
            else replace(before, answer=f"{before.answer} or {one.answer}", share=min(1.0, before.share + one.share))
        )
    return list(groups.values())


def _returns(runs: Sequence[Outcome], first: int) -> int | None:
    """Return where the stretch ends in which picks come back, or None where the first one does not."""
    last = first
    while True:
        inside = [one.pick for one in runs[first : last + 1]]
        further = max(at for at, one in enumerate(runs) if at >= first and one.pick in inside)
        if further == last:
            return last if last > first else None
        last = further


def _band(runs: Sequence[Outcome]) -> Outcome:
    """Return some neighbours as one, with the commonest pick first."""
    share: dict[str | None, float] = {}
    picks: dict[str | None, Pick] = {}
    for one in runs:
        share[one.pick.tractor_id] = share.get(one.pick.tractor_id, 0.0) + one.share
        picks[one.pick.tractor_id] = one.pick
    first, *others = sorted(share, key=lambda name: -share[name])
    words = runs[0].answer if len(runs) == 1 else from_to(runs[0].answer, runs[-1].answer)
    rest = tuple(picks[name] for name in others)
    return Outcome(words, min(1.0, sum(share.values())), picks[first], rest, _ends(runs[0], runs[-1]))


def _joined(found: Sequence[Outcome]) -> list[Outcome]:
    joined: list[Outcome] = []
    for one in found:
        last = joined[-1] if joined else None
        if last is not None and last.pick == one.pick:
            share = min(1.0, last.share + one.share)
            joined[-1] = replace(last, answer=from_to(last.answer, one.answer), share=share, ends=_ends(last, one))
        else:
            joined.append(one)
    return joined


def _ends(first: Outcome, last: Outcome) -> tuple[str, str] | None:
    return None if first.ends is None or last.ends is None else (first.ends[0], last.ends[1])


def from_to(first: str, last: str) -> str:
    """Return two parts as one: "1 to 1.5 in" and "1.5 to 2 in" as "1 to 2 in"."""
    return f"{first.split(' to ', 1)[0]} to {last.rsplit(' to ', 1)[-1]}"
