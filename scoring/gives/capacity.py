"""What a block of tractors offers against a demand: a column of the records, or what it is worth on the demand's terms.

A capacity is a function of arrays. Its steps are written by the same calls, where somebody asks for them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.core.trace import Trace
from evener.scoring.gives import grip, stance, towing
from evener.scoring.place.terms import Raised, Snow, Soil, Towing

if TYPE_CHECKING:
    from evener.scoring.core.demand import Demand
    from evener.scoring.core.terms import Terms
    from evener.scoring.gives.block import Block
    from evener.scoring.gives.known import Known

FIELD = {
    "pto_power": "pto_power_kw",
    "rear_lift": "hitch_lift_610_kg",
    "loader_lift": "loader_lift_kg",
    "loader_height": "loader_height_m",
    "hydraulic_flow": "hydraulic_flow_l_min",
}


def capacity(block: Block, demand: Demand) -> Known:
    """Return what tractors offer against a demand, in the axis's unit; worked out once for tasks of the same terms.

    Parameters
    ----------
    block : the tractors
    demand : what is asked, with the terms it is offered on
    """
    terms = demand.terms
    if terms is None:
        return block.take(FIELD[demand.axis])
    return block.work_out(f"{demand.axis}/{terms.key}", lambda: on_terms(block, terms, Trace(on=False)))


def on_terms(block: Block, terms: Terms, trace: Trace) -> Known:
    """Return what tractors offer on terms, in the axis's unit.

    Parameters
    ----------
    block : the tractors
    terms : the ground, the balance or the brakes it is offered on
    trace : where the steps go
    """
    if isinstance(terms, Soil):
        return grip.pull_on_soil(block, terms, trace)
    if isinstance(terms, Snow):
        return grip.push_on_snow(block, terms, trace)
    if isinstance(terms, Raised):
        return stance.moment_to_spare(block, terms, trace)
    if isinstance(terms, Towing):
        return towing.towed(block, terms, trace)
    raise TypeError(f"nothing is offered on {type(terms).__name__}")
