"""What stops a tractor at work that is hired with it."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from evener.results.margins import Limit
from evener.scoring.combinations.margins import failing

if TYPE_CHECKING:
    from evener.schema.records import Tractor
    from evener.scoring.decision.cheapest import Decision


def stopped(decision: Decision, tractor: Tractor, tasks: Collection[str]) -> tuple[Limit, ...]:
    """Return what a tractor is shortest of at each of some tasks, where it is short of anything.

    Parameters
    ----------
    decision : the job with its money
    tractor : the tractor
    tasks : names of the tasks
    """
    if not tasks:
        return ()
    score = decision.sizing.score([tractor], decision.classes)[0]
    details = (one for one in decision.sizing.detail(score.offer, score.reach) if one.task in tasks)
    return tuple(Limit.of(found[0]) for one in details if (found := failing((one,))))
