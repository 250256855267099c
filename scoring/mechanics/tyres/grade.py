"""The pull of a hill: gravity along and across the slope."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import GRAVITY, Values


@formula(
    "theta = arctan(slope)",
    source="HANDBOOK",
    clause="trigonometry",
    status="memory",
    valid={"slope": "[0, 1]"},
    checks=("TRAC-08",),
)
def angle(slope: Values) -> Values:
    """Angle of a slope given as rise over run.

    Parameters
    ----------
    slope : Values
        Rise over run [fraction].

    Returns
    -------
    Values
        theta, angle above the level [rad].
    """
    return np.arctan(slope)


@formula(
    "R_g = m g sin(theta) / 1000",
    source="EP496",
    clause="grade resistance",
    status="memory",
    valid={"m": "[0, inf)", "slope": "[0, 1]"},
    checks=("TRAC-08",),
)
def grade_force(m: Values, *, slope: Values) -> Values:
    """Force along the slope that holds a mass there.

    Parameters
    ----------
    m : Values
        Mass on the slope [kg].
    slope : Values
        Rise over run [fraction].

    Returns
    -------
    Values
        R_g, force along the slope [kN].
    """
    return m * GRAVITY * np.sin(angle(slope)) / 1000


@formula(
    "P_g = R_g S / 3.6",
    source="EP496",
    clause="drawbar power of the grade resistance",
    status="memory",
    valid={"m": "[0, inf)", "slope": "[0, 1]", "S": "[0, 60]"},
)
def grade_power(m: Values, *, slope: Values, S: Values) -> Values:
    """Power that lifts a mass up a slope at a travel speed.

    Parameters
    ----------
    m : Values
        Mass moved up the slope [kg].
    slope : Values
        Rise over run [fraction].
    S : Values
        Travel speed along the slope [km/h].

    Returns
    -------
    Values
        P_g, power at the drawbar or the wheels [kW].
    """
    return grade_force(m, slope=slope) * S / 3.6


@formula(
    "N = m g cos(theta) / 1000",
    source="HANDBOOK",
    clause="statics",
    status="memory",
    valid={"m": "[0, inf)", "slope": "[0, 1]"},
)
def normal_load(m: Values, *, slope: Values) -> Values:
    """Load of a mass square to the slope, which is what its wheels press with.

    Parameters
    ----------
    m : Values
        Mass on the slope [kg].
    slope : Values
        Rise over run [fraction].

    Returns
    -------
    Values
        N, load square to the ground [kN].
    """
    return m * GRAVITY * np.cos(angle(slope)) / 1000


@formula(
    "S_h = S (MR/W) / (MR/W + sin theta)",
    source="PRACTICE",
    clause="the same power on the level and uphill; custom",
    status="practice",
    valid={"S": "[0, 60]", "MR_W": "(0, inf)", "slope": "[0, 1]"},
)
def climbing_speed(S: Values, *, MR_W: Values, slope: Values) -> Values:
    """Speed at which rolling and grade take the power that rolling takes on the level.

    Parameters
    ----------
    S : Values
        Speed on the level [km/h].
    MR_W : Values
        Motion resistance over weight [1].
    slope : Values
        Rise over run [1].

    Returns
    -------
    Values
        S_h, speed uphill [km/h].
    """
    return S * MR_W / (MR_W + np.sin(angle(slope)))


@formula(
    "i_max = k i + d, at most 1",
    source="PRACTICE",
    clause="a field's steepest stretch by its usual slope; no source",
    status="practice",
    valid={"i": "[0, 1]", "k": "[1, 5]", "d": "[0, 0.5]"},
)
def steepest_stretch(i: Values, *, k: Values, d: Values) -> Values:
    """Steepest stretch of a field by its usual slope.

    Parameters
    ----------
    i : Values
        Usual slope, rise over run [fraction].
    k : Values
        Times the usual slope [1].
    d : Values
        And so much more [fraction].

    Returns
    -------
    Values
        i_max, steepest slope [fraction].
    """
    return np.minimum(k * i + d, 1.0)
