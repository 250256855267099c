"""How much ground and material a machine gets through, and the hours and days that takes."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "C_a = S w eta_f / 10",
    source="EP496",
    clause="effective field capacity",
    status="memory",
    valid={"S": "[0, 40]", "w": "[0, 60]", "eta_f": "(0, 1]"},
    checks=("DRAFT-17", "PTO-01", "FC-01", "FC-04", "FC-06", "FC-08", "FC-09", "FC-10", "FC-13"),
)
def field_capacity(S: Values, *, w: Values, eta_f: Values) -> Values:
    """Area a machine covers in an hour, with turns and stops.

    Parameters
    ----------
    S : Values
        Travel speed [km/h].
    w : Values
        Working width [m].
    eta_f : Values
        Field efficiency; 1 gives the theoretical capacity [fraction].

    Returns
    -------
    Values
        C_a, effective field capacity [ha/h].
    """
    return S * w * eta_f / 10


@formula(
    "C_m = S w y eta_f / 10",
    source="EP496",
    clause="material capacity",
    status="memory",
    valid={"S": "[0, 40]", "w": "[0, 60]", "y": "[0, inf)", "eta_f": "(0, 1]"},
)
def material_capacity(S: Values, *, w: Values, y: Values, eta_f: Values) -> Values:
    """Material a machine gets through in an hour, with turns and stops.

    Parameters
    ----------
    S : Values
        Travel speed [km/h].
    w : Values
        Working width, or the width raked into the windrow [m].
    y : Values
        Yield [t/ha].
    eta_f : Values
        Field efficiency [fraction].

    Returns
    -------
    Values
        C_m, effective material capacity [t/h].
    """
    return S * w * y * eta_f / 10


@formula(
    "F = S w y / 10",
    source="EP496",
    clause="material capacity without field efficiency",
    status="memory",
    valid={"S": "[0, 40]", "w": "[0, 60]", "y": "[0, inf)"},
)
def throughput(S: Values, *, w: Values, y: Values) -> Values:
    """Material flow while moving: the flow that takes power.

    Parameters
    ----------
    S : Values
        Travel speed [km/h].
    w : Values
        Working width, or the width raked into the windrow [m].
    y : Values
        Yield [t/ha].

    Returns
    -------
    Values
        F, material flow while moving [t/h].
    """
    return S * w * y / 10


@formula(
    "S = 10 F / (w y)",
    source="EP496",
    clause="material capacity, solved for speed",
    status="memory",
    valid={"F": "[0, inf)", "w": "(0, 60]", "y": "(0, inf)"},
)
def speed_for_throughput(F: Values, *, w: Values, y: Values) -> Values:
    """Travel speed that feeds a machine a flow.

    Parameters
    ----------
    F : Values
        Material flow while moving [t/h].
    w : Values
        Working width, or the width raked into the windrow [m].
    y : Values
        Yield [t/ha].

    Returns
    -------
    Values
        S, travel speed [km/h].
    """
    return 10 * F / (w * y)


@formula(
    "t = A / C_a",
    source="EP496",
    clause="field capacity, solved for time",
    status="memory",
    valid={"A": "[0, inf)", "C_a": "(0, inf)"},
    checks=("DRAFT-17", "FC-04", "FC-08"),
)
def hours(A: Values, *, C_a: Values) -> Values:
    """Hours to cover an area.

    Parameters
    ----------
    A : Values
        Area [ha].
    C_a : Values
        Effective field capacity, of all machines together [ha/h].

    Returns
    -------
    Values
        t, working time [h].
    """
    return A / C_a


@formula(
    "days = t / t_day",
    source="EP496",
    clause="days needed",
    status="memory",
    valid={"t": "[0, inf)", "t_day": "(0, 24]"},
    checks=("FC-04",),
)
def days(t: Values, *, t_day: Values) -> Values:
    """Working days that a time takes.

    Parameters
    ----------
    t : Values
        Working time [h].
    t_day : Values
        Working time in a day [h].

    Returns
    -------
    Values
        Days needed, not rounded [d].
    """
    return t / t_day


@formula(
    "C_a = A / t",
    source="NSW-PF",
    clause="work rate from the time available",
    status="published",
    valid={"A": "[0, inf)", "t": "(0, inf)"},
    checks=("FC-08",),
)
def capacity_for_time(A: Values, *, t: Values) -> Values:
    """Field capacity that finishes an area in the time there is.

    Parameters
    ----------
    A : Values
        Area [ha].
    t : Values
        Working time available [h].

    Returns
    -------
    Values
        C_a, effective field capacity needed [ha/h].
    """
    return A / t


@formula(
    "w = 10 C_a / (S eta_f)",
    source="EP496",
    clause="effective field capacity, solved for width",
    status="memory",
    valid={"C_a": "[0, inf)", "S": "(0, 40]", "eta_f": "(0, 1]"},
)
def width_for_capacity(C_a: Values, *, S: Values, eta_f: Values) -> Values:
    """Working width that gives a field capacity at a speed.

    Parameters
    ----------
    C_a : Values
        Effective field capacity [ha/h].
    S : Values
        Travel speed [km/h].
    eta_f : Values
        Field efficiency [fraction].

    Returns
    -------
    Values
        w, working width [m].
    """
    return 10 * C_a / (S * eta_f)


@formula(
    "S = 10 C_a / (w eta_f)",
    source="EP496",
    clause="effective field capacity, solved for speed",
    status="memory",
    valid={"C_a": "[0, inf)", "w": "(0, 60]", "eta_f": "(0, 1]"},
)
def speed_for_capacity(C_a: Values, *, w: Values, eta_f: Values) -> Values:
    """Travel speed that gives a field capacity at a width.

    Parameters
    ----------
    C_a : Values
        Effective field capacity [ha/h].
    w : Values
        Working width [m].
    eta_f : Values
        Field efficiency [fraction].

    Returns
    -------
    Values
        S, travel speed [km/h].
    """
    return 10 * C_a / (w * eta_f)


@formula(
    "n = ceil(C_needed / C_one)",
    source="HANDBOOK",
    clause="whole machines, rounded up",
    status="memory",
    valid={"C_needed": "[0, inf)", "C_one": "(0, inf)"},
    checks=("FC-08",),
)
def machines_needed(C_needed: Values, *, C_one: Values) -> Values:
    """Whole machines that together reach a field capacity.

    Parameters
    ----------
    C_needed : Values
        Field capacity needed [ha/h].
    C_one : Values
        Field capacity of one machine [ha/h].

    Returns
    -------
    Values
        n, number of machines, rounded up [1].
    """
    almost_whole = 1e-9  # 0.9 / 0.3 is a hair above 3 in binary, and three machines will do
    return np.ceil(C_needed / C_one - almost_whole)


@formula(
    "eta_f = t_work / (t_work + t_lost)",
    source="EP496",
    clause="field efficiency from times, at full width",
    status="memory",
    valid={"t_work": "(0, inf)", "t_lost": "[0, inf)"},
    checks=("FC-09",),
)
def field_efficiency(t_work: Values, *, t_lost: Values) -> Values:
    """Field efficiency from the time at work and the time lost in turns and stops.

    Parameters
    ----------
    t_work : Values
        Time at work, at full width and speed [h].
    t_lost : Values
        Time lost in turns and stops [h].

    Returns
    -------
    Values
        eta_f, field efficiency [fraction].
    """
    return t_work / (t_work + t_lost)


@formula(
    "w = 0.95 N S_d + 1.2 D",
    source="HANDBOOK",
    clause="effective width of a tandem disk harrow",
    status="memory",
    valid={"N": "[1, 200]", "S_d": "(0, 1]", "D": "(0, 1.5]"},
    checks=("FC-10",),
)
def tandem_disk_width(N: Values, *, S_d: Values, D: Values) -> Values:
    """Effective width of a tandem disk harrow.

    Parameters
    ----------
    N : Values
        Number of discs that counts across the width [1].
    S_d : Values
        Disc spacing [m].
    D : Values
        Disc diameter [m].

    Returns
    -------
    Values
        w, effective working width [m].
    """
    return 0.95 * N * S_d + 1.2 * D
