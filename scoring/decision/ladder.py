"""The ladder of sizes that tractors are bought by, and whether two tractors are of one size."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from evener.schema import units

if TYPE_CHECKING:
    from evener.schema.records import Tractor

RUNGS_HP = (18, 20, 25, 27, 32, 35, 40, 50, 62, 75, 92, 105, 125, 150, 180, 225, 300)
"""PTO horsepower of the usual sizes, whatever the drive (common practice, no source)."""

ANOTHER_SIZE = 0.12
"""Two units of a stock list this far apart in PTO power are two sizes (common practice, no source)."""


def rung(pto_power_kw: float) -> int:
    """Return the place on the ladder that a PTO power is nearest to, counted from 0."""
    hp = pto_power_kw / units.settled_factor("hp", "kW")
    return min(range(len(RUNGS_HP)), key=lambda place: abs(math.log(hp / RUNGS_HP[place])))


def same_size(one: Tractor | None, other: Tractor | None) -> bool:
    """Return whether two tractors are of one size: on one rung, and not far apart in PTO power."""
    powers = [each.pto_power_kw for each in (one, other) if each is not None and each.pto_power_kw]
    if len(powers) < 2:
        return False
    near = max(powers) / min(powers) < 1 + ANOTHER_SIZE
    return near and rung(powers[0]) == rung(powers[1])
