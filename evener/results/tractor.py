"""One tractor of a ranking, with its margins, what it fails, and what it needs fitted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.results.margins import Limit, TaskMargins, failures
from evener.results.size import limit
from evener.scoring.combinations.remedies import Fix, fixes

if TYPE_CHECKING:
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing


@dataclass(frozen=True)
class RankedTractor:
    """One tractor against the whole job.

    Attributes
    ----------
    tractor_id, label, kind, owner, price : as its record says
    pto_power, unit : its power at the PTO
    fit : 100 x adequacy x thrift
    adequacy : share of draws in which it meets every task
    thrift : how much of it the work uses where it is tightest
    meets : whether it meets every task as surely as asked
    limiting : where it is tightest, or what it is shortest of
    fails : everything that it does not meet as surely as asked
    assumed : fields that its class stands in for
    fixes : what it needs fitted, and what would close its gaps
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
    adequacy: float
    thrift: float
    meets: bool
    limiting: Limit | None
    fails: tuple[Limit, ...]
    assumed: tuple[str, ...]
    fixes: tuple[Fix, ...]
    tasks: tuple[TaskMargins, ...]


def ranked_tractor(sizing: Sizing, one: Score) -> RankedTractor:
    """Return one tractor with everything that is said of it."""
    tractor, details = one.offer.tractor, sizing.detail(one.offer)
    return RankedTractor(
        tractor_id=tractor.tractor_id,
        label=tractor.label,
        kind=tractor.kind,
        owner=tractor.owner,
        price=tractor.price,
        pto_power=tractor.pto_power_kw,
        unit="kW",
        fit=one.fit,
        adequacy=one.adequacy,
        thrift=one.thrift,
        meets=one.meets,
        limiting=limit(sizing, one),
        fails=failures(details, sizing.confidence),
        assumed=tuple(one.offer.assumed(sizing.tasks)),
        fixes=tuple(fixes(sizing, one.offer, details)),
        tasks=tuple(TaskMargins.of(task) for task in details),
    )
