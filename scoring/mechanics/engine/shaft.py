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


@formula(
    "P_peak = k P",
    source="PRACTICE",
    clause="plugs and gusts over the average, by family",
    status="practice",
    valid={"P": "[0, inf)", "k": "(0, 5]"},
)
def peak_power(P: Values, *, k: Values) -> Values:
    """Power of a shaft at its peaks.

    Parameters
    ----------
    P : Values
        Average power of the shaft [kW].
    k : Values
        Peak over average [1].

    Returns
    -------
    Values
        P_peak, power at the peaks [kW].
    """
    return P * k


@formula(
    "P = k P_el",
    source="PRACTICE",
    clause="two horsepower for each kW (pto_power_rules.csv)",
    status="practice",
    valid={"P_el": "[0, inf)", "k": "[1, 5]"},
)
def generator_power(P_el: Values, *, k: Values) -> Values:
    """PTO power a generator asks for the electric power it gives.

    Parameters
    ----------
    P_el : Values
        Electric power given [kW].
    k : Values
        PTO power for each kW electric [1].

    Returns
    -------
    Values
        P, power at the PTO [kW].
    """
    return P_el * k
