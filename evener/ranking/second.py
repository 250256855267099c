"""Two tractors instead of one: the best pair beside the best single one, and which of them takes which task."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.decision.second import best_pair

if TYPE_CHECKING:
    from evener.scoring.money.pair import PairCost, PairTask
    from evener.scoring.questions.choosing import ByCost

FIRST, SECOND, THERE, HIRED, NOBODY = "first", "second", "there", "hired", "nobody"


@dataclass(frozen=True)
class OneOfTwo:
    """One of two tractors, with its money.

    Attributes
    ----------
    tractor_id, label, pto_power, unit : as its record says
    price, price_basis : what it costs to buy: stated, the sheet's, or custom
    age : its age when it is bought, 0 for a new one [yr]
    ownership, repair : in a year
    hours : that it works in a year [h]
    """

    tractor_id: str
    label: str
    pto_power: float | None
    unit: str
    price: float
    price_basis: str
    age: float
    ownership: float
    repair: float
    hours: float


@dataclass(frozen=True)
class TaskOfTwo:
    """Who takes one task.

    Attributes
    ----------
    task : its name
    by : who takes it in most of the draws in which it comes: first, second, there, hired or nobody
    first, second, there, hired, missed : shares of those draws; what is missed is hired or left undone
    a_year : what doing or hiring it costs
    """

    task: str
    by: str
    first: float
    second: float
    there: float
    hired: float
    missed: float
    a_year: float


@dataclass(frozen=True)
class WithSecond:
    """The two tractors that cost least together, beside the one that costs least alone.

    Attributes
    ----------
    tractors : the two, the larger first
    a_year : expected yearly cost of both with what is hired or left undone
    machines, undone, changed : parts of it, as of one tractor; with both tractors' own and the tasks they sum to it
    does_all : share of draws in which all that comes is done
    alone, alone_a_year : the tractor that costs least alone, and its yearly cost
    saves : what the two cost less than it; negative where they cost more
    tasks : who takes what
    """

    tractors: tuple[OneOfTwo, OneOfTwo]
    a_year: float
    machines: float
    undone: float
    changed: float
    does_all: float
    alone: str
    alone_a_year: float
    saves: float
    tasks: tuple[TaskOfTwo, ...]


def with_second(picks: ByCost) -> WithSecond | None:
    """Return the best two tractors among those that may be picked; None where no two share the work.

    Parameters
    ----------
    picks : the job with its money, and what the tractors cost
    """
    found = picks.cheapest.found
    pair = best_pair(picks.cheapest.decision, found)
    if pair is None:
        return None
    alone = found[0]
    return WithSecond(
        tractors=(_one(pair, 0), _one(pair, 1)),
        a_year=pair.expected,
        machines=pair.machines,
        undone=pair.beyond,
        changed=pair.changed,
        does_all=pair.does_all,
        alone=alone.valued.tractor.tractor_id,
        alone_a_year=alone.expected,
        saves=alone.expected - pair.expected,
        tasks=tuple(_task(each) for each in pair.tasks),
    )


def _one(pair: PairCost, at: int) -> OneOfTwo:
    valued = pair.valued[at]
    return OneOfTwo(
        tractor_id=valued.tractor.tractor_id,
        label=valued.tractor.label,
        pto_power=valued.tractor.pto_power_kw,
        unit="kW",
        price=valued.price.amount,
        price_basis=valued.price.basis,
        age=valued.age_yr,
        ownership=pair.ownership[at],
        repair=pair.repair[at],
        hours=pair.hours[at],
    )


def _task(one: PairTask) -> TaskOfTwo:
    shares = {FIRST: one.first, SECOND: one.second, THERE: one.there, HIRED: one.hired, NOBODY: one.missed}
    by = max(shares, key=lambda name: shares[name])
    return TaskOfTwo(one.task, by, one.first, one.second, one.there, one.hired, one.missed, one.a_year)
