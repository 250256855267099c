"""How steep a tractor may go along its way: for its front axle uphill, and for its brakes downhill."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "i = ((T_V - k T_L) b - M) / (T_L h + G h_G)",
    source="HANDBOOK",
    clause="statics: moments about the rear wheels' contact, solved for the slope",
    status="memory",
    valid={
        "T_V": "[0, inf)",
        "T_L": "(0, inf)",
        "h": "(0, 3]",
        "M": "(-inf, inf)",
        "G": "[0, inf)",
        "h_G": "[0, 4]",
        "b": "(0, 6]",
        "k": "[0, 1)",
    },
    note="k T_L is taken as what has to press on the ground along the slope's normal per cos(theta)",
)
def steepest_uphill(
    T_V: Values, *, T_L: Values, h: Values, M: Values, G: Values, h_G: Values, b: Values, k: Values
) -> Values:
    """Slope up to which the front axle keeps a share of the unladen mass.

    Parameters
    ----------
    T_V : Values
        Front axle load on the level, without machine [kg].
    T_L : Values
        Mass of the tractor [kg].
    h : Values
        Height of its centre of gravity [m].
    M : Values
        Moment of the raised machine about the rear axle, less that of the front weights [kg m].
    G : Values
        Mass of the machine [kg].
    h_G : Values
        Height of its centre of mass, raised [m].
    b : Values
        Wheelbase [m].
    k : Values
        Share of the unladen mass that the front axle has to keep [fraction].

    Returns
    -------
    Values
        i, slope, rise over run; below zero where it does not keep that on the level [fraction].
    """
    return ((T_V - k * T_L) * b - M) / (T_L * h + G * h_G)


@formula(
    "i = mu T_L / (T_L + m)",
    source="HANDBOOK",
    clause="statics: the weight along the slope against the grip of the tractor's braked wheels",
    status="memory",
    valid={"T_L": "(0, inf)", "m": "[0, inf)", "mu": "(0, 1.2]"},
    note="all wheels of the tractor braked, none of the towed machine; held, not stopped from a speed",
)
def grade_held(T_L: Values, *, m: Values, mu: Values) -> Values:
    """Downhill slope on which a tractor's own brakes hold it and an unbraked machine behind it.

    Parameters
    ----------
    T_L : Values
        Mass of the tractor [kg].
    m : Values
        Mass towed without brakes [kg].
    mu : Values
        Grip of braked wheels on the ground [fraction].

    Returns
    -------
    Values
        i, slope, rise over run [fraction].
    """
    return mu * T_L / (T_L + m)
