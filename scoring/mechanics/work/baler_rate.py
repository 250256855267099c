"""Bales and tonnes an hour of a baler that stops for each bale: the heavier the crop, the more it stands."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "t = 3.6 m / F + t_stop",
    source="PRACTICE",
    clause="fill time and wrap-and-eject time",
    status="practice",
    valid={"m": "(0, inf)", "F": "(0, inf)", "t_stop": "[0, 600]"},
)
def time_per_bale(m: Values, *, F: Values, t_stop: Values) -> Values:
    """Time from one bale to the next.

    Parameters
    ----------
    m : Values
        Mass of a bale as baled [kg].
    F : Values
        Material flow while moving [t/h].
    t_stop : Values
        Time to wrap and eject; 0 for a baler that does not stop [s].

    Returns
    -------
    Values
        t, time per bale [s].
    """
    return 3.6 * m / F + t_stop


@formula(
    "n = 3600 / t",
    source="PRACTICE",
    clause="bales an hour",
    status="practice",
    valid={"t": "(0, inf)"},
)
def bales_per_hour(t: Values) -> Values:
    """Bales made in an hour of steady baling.

    Parameters
    ----------
    t : Values
        Time per bale [s].

    Returns
    -------
    Values
        n, bales in an hour [1/h].
    """
    return 3600 / t


@formula(
    "C_m = 3.6 m / t",
    source="PRACTICE",
    clause="mass per bale over time per bale",
    status="practice",
    valid={"m": "(0, inf)", "t": "(0, inf)"},
    checks=("TABLE-BIOBALE",),
)
def baler_capacity(m: Values, *, t: Values) -> Values:
    """Mass baled in an hour, with the stops for each bale.

    Parameters
    ----------
    m : Values
        Mass of a bale as baled [kg].
    t : Values
        Time per bale [s].

    Returns
    -------
    Values
        C_m, effective material capacity before turns and field losses [t/h].
    """
    return 3.6 * m / t
