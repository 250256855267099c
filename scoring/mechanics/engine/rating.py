"""From a machine's rating, or the power a task takes, to the rating a tractor has to have."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P = R (k_growth k_pace) k_reserve",
    source="PRACTICE",
    clause="a rating is for easy going; thick growth and full pace ask 10 to 20 hp more of 40",
    status="practice",
    valid={"R": "[0, inf)", "k_growth": "[0.5, 3]", "k_pace": "[0.5, 3]", "k_reserve": "(0, 10]"},
)
def rating_asked(R: Values, *, k_growth: Values, k_pace: Values, k_reserve: Values) -> Values:
    """Rating a task asks of a tractor, from a machine's rating.

    Parameters
    ----------
    R : Values
        Rating of the machine: the least tractor power at the PTO [kW].
    k_growth : Values
        Factor for the growth [1].
    k_pace : Values
        Factor for the pace [1].
    k_reserve : Values
        Factor for the reserve (`reserve_factor`) [1].

    Returns
    -------
    Values
        P, PTO power asked [kW].
    """
    return R * (k_growth * k_pace) * k_reserve


@formula(
    "k = (1 - r_usual) / (1 - r)",
    source="PRACTICE",
    clause="a maker's least tractor power keeps the customary 15 % in hand",
    status="practice",
    valid={"r_usual": "[0, 1)", "r": "[0, 1)"},
)
def reserve_factor(r_usual: Values, *, r: Values) -> Values:
    """Factor on a rating that holds a usual reserve, where another is asked.

    Parameters
    ----------
    r_usual : Values
        Share of power a maker's rating keeps in hand [fraction].
    r : Values
        Share of power asked to be kept in hand [fraction].

    Returns
    -------
    Values
        k, factor on the rating [1].
    """
    return (1 - r_usual) / (1 - r)


@formula(
    "X = 1 - r",
    source="PRACTICE",
    clause="reserve of power",
    status="practice",
    valid={"r": "[0, 1)"},
)
def load_held(r: Values) -> Values:
    """Share of its rated power a tractor is loaded to with a reserve in hand.

    Parameters
    ----------
    r : Values
        Share of power kept in hand [fraction].

    Returns
    -------
    Values
        X, mean load over rated power [fraction].
    """
    return 1 - r


@formula(
    "P_0 = P / share",
    source="PRACTICE",
    clause="derating for altitude, turned round",
    status="practice",
    valid={"P": "[0, inf)", "share": "(0, 1]"},
)
def sea_level_rating(P: Values, *, share: Values) -> Values:
    """Rating at sea level that leaves a power at an altitude.

    Parameters
    ----------
    P : Values
        Power asked at the place; for a kg of tractor [kW/kg] [kW].
    share : Values
        Share of the power left at the altitude (`power_flow.power_at_altitude`) [fraction].

    Returns
    -------
    Values
        P_0, rated power at sea level [kW].
    """
    return P / share


@formula(
    "P = a / (1 - b g), 1 - b g at least 0.05",
    source="PRACTICE",
    clause="P = a + b m with m = g P; beyond 20 a no such tractor climbs",
    status="practice",
    valid={"a": "[0, inf)", "b": "[0, inf)", "g": "(0, inf)"},
)
def power_at_mass_ratio(a: Values, *, b: Values, g: Values) -> Values:
    """Power asked of a tractor that has a mass for each kW of it.

    Parameters
    ----------
    a : Values
        Power asked whatever the tractor's mass [kW].
    b : Values
        Power each kg of tractor asks [kW/kg].
    g : Values
        Tractor's mass for each kW at the PTO [kg/kW].

    Returns
    -------
    Values
        P, PTO power [kW].
    """
    return a / np.maximum(1 - b * g, 0.05)


@formula(
    "n = P / P_ref",
    source="PRACTICE",
    clause="comparison of two estimates",
    status="practice",
    valid={"P": "[0, inf)", "P_ref": "(0, inf)"},
)
def times(P: Values, *, P_ref: Values) -> Values:
    """How many times one power is another.

    Parameters
    ----------
    P : Values
        Power [kW].
    P_ref : Values
        Power it is set against [kW].

    Returns
    -------
    Values
        n, times [1].
    """
    return P / P_ref
