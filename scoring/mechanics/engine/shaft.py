"""Torque, speed and power of a turning shaft."""

from __future__ import annotations

import math

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P = 2 pi n M / 60000",
    source="HANDBOOK",
    clause="power of a shaft",
    status="memory",
    valid={"M": "[0, inf)", "n": "[0, 4000]"},
)
def power(M: Values, *, n: Values) -> Values:
    """Power of a shaft from its torque.

    Parameters
    ----------
    M : Values
        Torque [N m].
    n : Values
        Speed [1/min].

    Returns
    -------
    Values
        P, power [kW].
    """
    return 2 * math.pi * n * M / 60000


@formula(
    "M = 60000 P / (2 pi n)",
    source="HANDBOOK",
    clause="power of a shaft, solved for torque",
    status="memory",
    valid={"P": "[0, inf)", "n": "(0, 4000]"},
)
def torque(P: Values, *, n: Values) -> Values:
    """Torque of a shaft from its power.

    Parameters
    ----------
    P : Values
        Power [kW].
    n : Values
        Speed [1/min].

    Returns
    -------
    Values
        M, torque [N m].
    """
    return 60000 * P / (2 * math.pi * n)
