"""One tractor of a ranking, with its margins, what it fails, and what it needs fitted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.ranking.size import limit
from evener.results.margins import Limit, TaskMargins, failures
from evener.scoring.advice.remedies import Remedy, remedies

if TYPE_CHECKING:
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.questions.choosing import ByCost


@dataclass(frozen=True)
class RankedTractor:
    """One tractor against the whole job.

    Attributes
    ----------
    tractor_id, label, kind, owner, price : as its record says
    pto_power, unit : its power at the PTO
    fit : 100 x the least yearly cost over its own; without money, 100 x how near it comes to what is enough, on the
        task on which it is furthest off
    a_year : expected yearly cost; None where no money is reckoned, or its power is not known
    adequacy : share of draws in which it does every task that comes
    meets : whether it is sure enough on every task
    limiting : where it is tightest, or what it is shortest of
    fails : everything that it does not meet as surely as asked
    assumed : fields that its class stands in for
    remedies : what it needs fitted, and what would close its gaps
    tasks : its margins, task by task
    """

    tractor_id: str
    label: str
    kind: str
    owner: str | None
    price: float | None
    pto_power: float | None
    unit: str
    fit: float
    a_year: float | None
    adequacy: float
    meets: bool
    limiting: Limit | None
    fails: tuple[Limit, ...]
    assumed: tuple[str, ...]
    remedies: tuple[Remedy, ...]
    tasks: tuple[TaskMargins, ...]


def ranked_tractor(
    sizing: Sizing, one: Score, cost: YearlyCost | None = None, picks: ByCost | None = None
) -> RankedTractor:
    """Return one tractor with everything that is said of it.

    Parameters
    ----------
    sizing, one : the job, and the tractor with its score
    cost, picks : what it costs in a year, and what the others do; without them its fit is by its score
    """
    tractor, details = one.offer.tractor, sizing.detail(one.offer, one.reach)
    return RankedTractor(
        tractor_id=tractor.tractor_id,
        label=tractor.label,
        kind=tractor.kind,
        owner=tractor.owner,
        price=tractor.price,
        pto_power=tractor.pto_power_kw,
        unit="kW",
        fit=one.fit if cost is None or picks is None else picks.fit(cost),
        a_year=None if cost is None else cost.expected,
        adequacy=one.adequacy,
        meets=one.meets,
        limiting=limit(sizing, one),
        fails=failures(details),
        assumed=tuple(one.offer.assumed(sizing.tasks)),
        remedies=tuple(remedies(sizing, one.offer, details)),
        tasks=tuple(TaskMargins.of(task) for task in details),
    )
