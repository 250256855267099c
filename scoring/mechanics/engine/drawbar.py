"""Drawbar power, and the sum of everything a task asks at once, brought to the PTO."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P_db = D S / 3.6",
    source="EP496",
    clause="drawbar power",
    status="memory",
    valid={"D": "[0, inf)", "S": "[0, 60]"},
    checks=("DRAFT-01", "DRAFT-09", "DRAFT-11", "DRAFT-15", "PTO-01", "TRAC-03", "FUEL-05"),
)
def drawbar_power(D: Values, *, S: Values) -> Values:
    """Power of a pull at a travel speed.

    Parameters
    ----------
    D : Values
        Pull or draft along the travel [kN].
    S : Values
        Travel speed [km/h].

    Returns
    -------
    Values
        P_db, power at the drawbar [kW].
    """
    return D * S / 3.6


@formula(
    "D = 3.6 P_db / S",
    source="EP496",
    clause="drawbar power, solved for the pull",
    status="memory",
    valid={"P_db": "[0, inf)", "S": "(0, 60]"},
    checks=("DRAFT-17", "PTO-02"),
)
def pull_at_power(P_db: Values, *, S: Values) -> Values:
    """Pull that a drawbar power sustains at a travel speed.

    Parameters
    ----------
    P_db : Values
        Power at the drawbar [kW].
    S : Values
        Travel speed [km/h].

    Returns
    -------
    Values
        D, pull along the travel [kN].
    """
    return 3.6 * P_db / S


@formula(
    "P_el = V I / 1000",
    source="EP496",
    clause="electric power",
    status="memory",
    valid={"V": "[0, inf)", "I": "[0, inf)"},
)
def electric_power(V: Values, *, I: Values) -> Values:  # noqa: E741 - the source's symbol
    """Power of an electric load.

    Parameters
    ----------
    V : Values
        Voltage [V].
    I : Values
        Current [A].

    Returns
    -------
    Values
        P_el, electric power [kW].
    """
    return V * I / 1000


@formula(
    "P_T = P_db / (E_m E_t) + P_pto + P_hyd + P_el",
    source="EP496",
    clause="total power at PTO equivalent",
    status="memory",
    valid={
        "P_db": "[0, inf)",
        "E_m": "(0, 1]",
        "E_t": "(0, 1]",
        "P_pto": "[0, inf)",
        "P_hyd": "[0, inf)",
        "P_el": "[0, inf)",
    },
    note="E_m about 0.96 for gear drives",
    checks=("TRAC-04",),
)
def total_power(
    P_db: Values, *, E_m: Values, E_t: Values, P_pto: Values = 0.0, P_hyd: Values = 0.0, P_el: Values = 0.0
) -> Values:
    """Sum of drawbar, PTO, hydraulic and electric power at PTO equivalent.

    Parameters
    ----------
    P_db : Values
        Power at the drawbar, with motion resistance and grade of what is moved [kW].
    E_m : Values
        Mechanical efficiency of the transmission [fraction].
    E_t : Values
        Tractive efficiency [fraction].
    P_pto : Values
        Power at the PTO shaft [kW].
    P_hyd : Values
        Hydraulic power [kW].
    P_el : Values
        Electric power [kW].

    Returns
    -------
    Values
        P_T, total power at PTO equivalent [kW].
    """
    return P_db / (E_m * E_t) + P_pto + P_hyd + P_el


@formula(
    "P_rated = P_T / X",
    source="PRACTICE",
    clause="load at most 0.80 to 0.85 of rated PTO power",
    status="practice",
    valid={"P_T": "[0, inf)", "X": "(0, 1]"},
)
def rated_power_needed(P_T: Values, *, X: Values) -> Values:
    """Rated PTO power that keeps a mean load to a share of it.

    Parameters
    ----------
    P_T : Values
        Total power at PTO equivalent [kW].
    X : Values
        Load over rated PTO power that the policy allows [fraction].

    Returns
    -------
    Values
        P_rated, rated PTO power needed [kW].
    """
    return P_T / X


@formula(
    "s = S_1 / S, at most 1",
    source="PRACTICE",
    clause="a speed over the usual one",
    status="practice",
    valid={"S_1": "[0, 60]", "S": "(0, 60]"},
)
def share_of_speed(S_1: Values, *, S: Values) -> Values:
    """Speed over the usual one.

    Parameters
    ----------
    S_1 : Values
        Speed [km/h].
    S : Values
        Usual speed [km/h].

    Returns
    -------
    Values
        s, share of the usual speed [1].
    """
    return np.minimum(S_1 / S, 1.0)
