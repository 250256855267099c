"""Wheel slip, and the travel speed it leaves of the wheel's own."""

from __future__ import annotations

import math

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "v_0 = 2 pi r (n / i) 60 / 1000",
    source="HANDBOOK",
    clause="speed of a rolling wheel",
    status="memory",
    valid={"n": "[0, 6000]", "i": "(0, 5000]", "r": "(0, 2]"},
    checks=("PTO-02", "TRAC-03"),
)
def no_load_speed(n: Values, *, i: Values, r: Values) -> Values:
    """Travel speed of wheels that do not slip.

    Parameters
    ----------
    n : Values
        Engine speed [1/min].
    i : Values
        Engine speed over wheel speed [1].
    r : Values
        Rolling radius [m].

    Returns
    -------
    Values
        v_0, speed without slip [km/h].
    """
    return 2 * math.pi * r * (n / i) * 60 / 1000


@formula(
    "v = v_0 (1 - s)",
    source="D497",
    clause="slip",
    status="memory",
    valid={"v_0": "[0, 60]", "s": "[0, 1]"},
    checks=("TRAC-03",),
)
def travel_speed(v_0: Values, *, s: Values) -> Values:
    """Travel speed that slip leaves.

    Parameters
    ----------
    v_0 : Values
        Speed without slip [km/h].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        v, travel speed [km/h].
    """
    return v_0 * (1 - s)


@formula(
    "s = 1 - t_0 / t",
    source="D497",
    clause="slip, by times over one distance at one engine speed",
    status="memory",
    valid={"t": "(0, inf)", "t_0": "(0, inf)"},
    checks=("TRAC-10",),
)
def slip_from_times(t: Values, *, t_0: Values) -> Values:
    """Slip from the times to cover one distance with the implement at work and raised.

    Parameters
    ----------
    t : Values
        Time with the implement at work [s].
    t_0 : Values
        Time with the implement raised [s].

    Returns
    -------
    Values
        s, slip [fraction].
    """
    return 1 - t_0 / t
