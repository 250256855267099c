"""The mass a tractor may tow, by the published ratio to its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.gives.known import Known
from evener.scoring.gives.rows import where_known
from evener.scoring.mechanics.stance.towing import towed_limit

if TYPE_CHECKING:
    from evener.scoring.core.trace import Trace
    from evener.scoring.gives.block import Block
    from evener.scoring.place.terms import Towing


def towed(block: Block, terms: Towing, trace: Trace) -> Known:
    """Return the largest mass that tractors may tow [kg]."""

    def of(some: Block) -> Known:
        mass = some.take("mass_kg")
        limit = trace.call(towed_limit, source=terms.source, status=terms.status)
        return Known(np.asarray(limit(mass.values, k=terms.ratio)), mass.assumed)

    return where_known(block, ("mass_kg",), of)
