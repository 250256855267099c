"""The power that moving a mass takes, by the power for each kilogram of it."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "P = p_roll m + p_grade m",
    source="EP496",
    clause="rolling and grade, each in proportion to mass",
    status="memory",
    valid={"m": "[0, inf)", "p_roll": "[0, inf)", "p_grade": "[0, inf)"},
)
def moving_power(m: Values, *, p_roll: Values, p_grade: Values) -> Values:
    """Power of rolling and grade of a mass.

    Parameters
    ----------
    m : Values
        Mass moved [kg].
    p_roll : Values
        Power of rolling for each kg [kW/kg].
    p_grade : Values
        Power of the grade for each kg [kW/kg].

    Returns
    -------
    Values
        P, power at the PTO [kW].
    """
    return p_roll * m + p_grade * m


@formula(
    "P = (p_up - p_level) m, at least 0",
    source="PRACTICE",
    clause="what is hauled slows down uphill: only what goes beyond the level's power comes on top",
    status="practice",
    valid={"m": "[0, inf)", "p_up": "[0, inf)", "p_level": "[0, inf)"},
)
def beyond_level(m: Values, *, p_up: Values, p_level: Values) -> Values:
    """Power of a mass uphill at the speed held there, beyond what it takes on the level at the usual speed.

    Parameters
    ----------
    m : Values
        Mass moved [kg].
    p_up : Values
        Power of rolling and grade uphill for each kg [kW/kg].
    p_level : Values
        Power of rolling on the level for each kg [kW/kg].

    Returns
    -------
    Values
        P, power at the PTO that comes on top [kW].
    """
    return np.maximum((p_up - p_level) * m, 0.0)


@formula(
    "P = P_level + p_grade m",
    source="UAZ",
    clause="grade power in proportion to mass",
    status="published",
    valid={"P_level": "[0, inf)", "m": "[0, inf)", "p_grade": "[0, inf)"},
)
def grade_on_top(P_level: Values, *, m: Values, p_grade: Values) -> Values:
    """Power with a mass uphill on top of the power on the level.

    Parameters
    ----------
    P_level : Values
        Power on the level [kW].
    m : Values
        Mass that goes uphill [kg].
    p_grade : Values
        Power of the grade for each kg [kW/kg].

    Returns
    -------
    Values
        P, power at the PTO [kW].
    """
    return P_level + p_grade * m


@formula(
    "P = P_t + P_pto + P_hyd",
    source="EP496",
    clause="total power at PTO equivalent",
    status="memory",
    valid={"P_t": "[0, inf)", "P_pto": "[0, inf)", "P_hyd": "[0, inf)"},
)
def task_power(P_t: Values, *, P_pto: Values, P_hyd: Values) -> Values:
    """Sum of what moving, shaft and oil take, all at the PTO.

    Parameters
    ----------
    P_t : Values
        Power of pull or moving [kW].
    P_pto : Values
        Power of the shaft [kW].
    P_hyd : Values
        Power of the oil [kW].

    Returns
    -------
    Values
        P, power at the PTO [kW].
    """
    return P_pto + P_hyd + P_t


@formula(
    "D = D_t + R",
    source="EP496",
    clause="sum of the forces along the travel",
    status="memory",
    valid={"D_t": "[0, inf)", "R": "[0, inf)"},
)
def whole_pull(D_t: Values, *, R: Values) -> Values:
    """Pull of a tool or of wheels with what comes on top: a grade, or a shaft its wheels drive.

    Parameters
    ----------
    D_t : Values
        Pull of the tool or of the wheels; for a kg of tractor [kN/kg] [kN].
    R : Values
        Pull of the grade, or of what the wheels drive [kN].

    Returns
    -------
    Values
        D, pull at the drawbar [kN].
    """
    return D_t + R
