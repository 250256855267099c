"""From the level a machine is rated at to what its work takes: other estimates, heavier work, and slowing down."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "k = exp(w r), r = ln(P_b / P_a) within -c to c, w = (s_a^2 + t^2) / (s_a^2 + s_b^2 + 2 t^2)",
    source="DERSIM-86",
    clause="random effects of two studies, 2 t^2 = r^2 - s_a^2 - s_b^2 at least 0; c is practice",
    status="memory",
    valid={"P_a": "(0, inf)", "P_b": "(0, inf)", "s_a": "[0, 5]", "s_b": "(0, 5]", "c": "[0, 2]"},
)
def combined(P_a: Values, *, P_b: Values, s_a: Values, s_b: Values, c: Values) -> Values:
    """Factor on one estimate of a power that takes in another, each by how sure it is, and both by how they differ.

    Parameters
    ----------
    P_a : Values
        Power by the estimate that leads [kW].
    P_b : Values
        Power by the other [kW].
    s_a : Values
        Standard deviation of ln P_a [1].
    s_b : Values
        Standard deviation of ln P_b [1].
    c : Values
        Furthest apart that the two are held to be of one thing, in ln [1].

    Returns
    -------
    Values
        k, factor on P_a [1].
    """
    apart = np.clip(np.log(P_b / P_a), -c, c)
    within = s_a**2 + s_b**2
    between = np.maximum(apart**2 - within, 0.0) / 2
    factor: Values = np.exp(apart * (s_a**2 + between) / (within + 2 * between))
    return factor


@formula(
    "k = exp(w r (1 - |r| / c)), r = ln(P_b / P_a) within -c to c, w = s_a^2 / (s_a^2 + s_b^2)",
    source="PRACTICE",
    clause="by precision, but an estimate as far off as c is of another thing, and counts for nothing; no source",
    status="practice",
    valid={"P_a": "(0, inf)", "P_b": "(0, inf)", "s_a": "[0, 5]", "s_b": "(0, 5]", "c": "(0, 2]"},
)
def supported(P_a: Values, *, P_b: Values, s_a: Values, s_b: Values, c: Values) -> Values:
    """Factor on a rating that takes in another estimate where that measures the same thing.

    Parameters
    ----------
    P_a : Values
        Power by the rating that leads [kW].
    P_b : Values
        Power by the other [kW].
    s_a : Values
        Standard deviation of ln P_a [1].
    s_b : Values
        Standard deviation of ln P_b [1].
    c : Values
        How far apart the two are of different things, in ln [1].

    Returns
    -------
    Values
        k, factor on P_a [1].
    """
    weight = s_a**2 / (s_a**2 + s_b**2)
    apart = np.clip(np.log(P_b / P_a), -c, c)
    factor: Values = np.exp(weight * apart * (1 - np.abs(apart) / c))
    return factor


@formula(
    "k = P / P_0, within 1 to 1.6",
    source="PRACTICE",
    clause="a rating is for usual going: what asks less takes nothing off it",
    status="practice",
    valid={"P": "[0, inf)", "P_0": "(0, inf)"},
)
def change(P: Values, *, P_0: Values) -> Values:
    """Factor on a rating for work that takes more than the usual does.

    Parameters
    ----------
    P : Values
        Power of the shaft in this work [kW].
    P_0 : Values
        Power of the shaft in usual work [kW].

    Returns
    -------
    Values
        k, factor on the rating [1].
    """
    at_least: Values = np.maximum(P / P_0, 1.0)
    return np.minimum(at_least, 1.6)


@formula(
    "k = 1 + s (S / S_0 - 1), at least 1",
    source="PRACTICE",
    clause="share of the shaft's power that grows with speed; no source",
    status="practice",
    valid={"S": "[0, 60]", "S_0": "(0, 60]", "s": "[0, 1]"},
)
def faster(S: Values, *, S_0: Values, s: Values) -> Values:
    """Factor on a rating for working faster than is usual.

    Parameters
    ----------
    S : Values
        Speed [km/h].
    S_0 : Values
        Usual speed [km/h].
    s : Values
        Share of the power that grows with speed [fraction].

    Returns
    -------
    Values
        k, factor on the rating [1].
    """
    return np.maximum(1 + s * (S / S_0 - 1), 1.0)


@formula(
    "x = (s (P - P_s) + P_s - P_0) / (P - P_0), at least 0",
    source="PRACTICE",
    clause="power goes with speed but for what turns whatever the speed; what easy going asks on the level stays",
    status="practice",
    valid={"P": "[0, inf)", "P_0": "[0, inf)", "P_s": "[0, inf)", "s": "[0, 1]"},
)
def left_when_slow(P: Values, *, P_0: Values, P_s: Values, s: Values) -> Values:
    """Share of what is asked beyond easy going on the level that is left at the least useful speed.

    Parameters
    ----------
    P : Values
        Power at the usual speed [kW].
    P_0 : Values
        Power on the level in easy going, which is met whatever the speed [kW].
    P_s : Values
        Part of the shaft's power that does not go with speed [kW].
    s : Values
        Least useful speed over the usual one [fraction].

    Returns
    -------
    Values
        x, share of P - P_0 left [fraction].
    """
    beyond = np.maximum(P - P_0, 1e-9)
    return np.clip((s * (P - P_s) + P_s - P_0) / beyond, 0.0, 1.0)


@formula(
    "P = P_0 + x (P_1 - P_0)",
    source="PRACTICE",
    clause="part of what is asked beyond easy going",
    status="practice",
    valid={"P_0": "[0, inf)", "P_1": "[0, inf)", "x": "[0, 1]"},
)
def part_way(P_0: Values, *, P_1: Values, x: Values) -> Values:
    """Power with a share of what is asked beyond easy going on the level.

    Parameters
    ----------
    P_0 : Values
        Power on the level in easy going; for each kg of tractor [kW/kg] [kW].
    P_1 : Values
        Power with all that comes on top [kW].
    x : Values
        Share of that [fraction].

    Returns
    -------
    Values
        P, power with that share [kW].
    """
    return P_0 + x * (P_1 - P_0)
