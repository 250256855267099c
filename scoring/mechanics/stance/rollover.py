"""Where a tractor tips: sideways on a slope and backward under a pull. Limits of rigid bodies, not of safe work."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import GRAVITY, Values


@formula(
    "tan(theta) = t / (2 h_cg)",
    source="HANDBOOK",
    clause="statics: rigid tractor, no implement",
    status="memory",
    valid={"t": "(0, 4]", "h_cg": "(0, 3]"},
    note="the front axle pivots, so the true limit is lower until its stop is reached",
)
def side_slope_limit(t: Values, *, h_cg: Values) -> Values:
    """Side slope at which a standing tractor tips over.

    Parameters
    ----------
    t : Values
        Track width [m].
    h_cg : Values
        Height of the centre of gravity, with what is raised [m].

    Returns
    -------
    Values
        tan(theta), rise over run [fraction].
    """
    return t / (2 * h_cg)


@formula(
    "tan(theta / 2)",
    source="PRACTICE",
    clause="half the static angle, for bumps, sinkage, turns and raised loads",
    status="practice",
    valid={"limit": "(0, 5]"},
)
def working_side_slope(limit: Values) -> Values:
    """Side slope to work on, from the one at which a standing tractor tips over.

    Parameters
    ----------
    limit : Values
        Static side slope limit, rise over run [fraction].

    Returns
    -------
    Values
        Side slope at half that angle, rise over run [fraction].
    """
    return np.tan(np.arctan(limit) / 2)


@formula(
    "h_cg = (m_1 h_1 + m_2 h_2) / (m_1 + m_2)",
    source="HANDBOOK",
    clause="statics",
    status="memory",
    valid={"m_1": "(0, inf)", "h_1": "[0, 6]", "m_2": "[0, inf)", "h_2": "[0, 6]"},
)
def centre_height(m_1: Values, *, h_1: Values, m_2: Values, h_2: Values) -> Values:
    """Height of the centre of gravity of a tractor with a raised load.

    Parameters
    ----------
    m_1 : Values
        Mass of the tractor [kg].
    h_1 : Values
        Height of its centre of gravity [m].
    m_2 : Values
        Mass raised [kg].
    h_2 : Values
        Height to which it is raised [m].

    Returns
    -------
    Values
        h_cg, height of the common centre of gravity [m].
    """
    return (m_1 * h_1 + m_2 * h_2) / (m_1 + m_2)


@formula(
    "P = T_V g b / (1000 y)",
    source="HANDBOOK",
    clause="statics: moments about the rear wheels' contact",
    status="memory",
    valid={"T_V": "[0, inf)", "b": "(0, 6]", "y": "(0, 3]"},
)
def overturning_pull(T_V: Values, *, b: Values, y: Values) -> Values:
    """Level pull that lifts the front axle off the ground.

    Parameters
    ----------
    T_V : Values
        Front axle load [kg].
    b : Values
        Wheelbase [m].
    y : Values
        Height of the pull above the ground [m].

    Returns
    -------
    Values
        P, pull at which the tractor begins to rear [kN].
    """
    return T_V * GRAVITY * b / (1000 * y)
