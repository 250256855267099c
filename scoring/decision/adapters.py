"""What adapters between a tractor and a machine come to in a year: bushings for its hitch, a gear on its PTO stub."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.gives.gates import needs_fitted
from evener.scoring.mechanics.work import cost

if TYPE_CHECKING:
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.gives.block import Block
    from evener.scoring.money.terms import Terms


def adapters_a_year(task: TaskDemands, block: Block, terms: Terms) -> list[float]:
    """Return what the adapters of a task cost each tractor of a block [money/yr].

    Parameters
    ----------
    task : what it asks
    block, terms : the tractors, and the terms
    """
    factor = cost.capital_recovery_factor(terms["interest"], n=terms["years"])
    found = [0.0] * len(block)
    for gate in task.gates:
        for place, name in enumerate(needs_fitted(block, gate)):
            if name is not None:
                found[place] += float(cost.capital_recovery(terms[name], S=0.0, CRF=factor, i=terms["interest"]))
    return found
