"""Axle loads of a tractor with machines in front and behind, and the ballast that keeps it steering.

Symbols as implement manuals print them: T_L unladen mass, T_V and T_H its front and rear axle loads, G_V and G_H the
machines or ballast in front and behind, full; a front centre of mass to front axle, b wheelbase, c rear axle to lower
hitch points, d those to the rear centre of mass.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values

# EN4254-10-OM: shares of the UNLADEN mass that an axle has to keep with a machine raised on the other side.
FRONT_LEAST = 0.2
REAR_LEAST = 0.45


class BalanceError(ValueError):
    """Two sides of a balance that should be equal and are not."""


class AxleLoads(NamedTuple):
    """What the axles carry.

    Attributes
    ----------
    front, rear, total : axle loads and their sum [kg]
    """

    front: Values
    rear: Values
    total: Values


def require_balance(left: Values, right: Values, *, what: str, tolerance: Values) -> None:
    """Hold two sides of a balance against each other.

    Parameters
    ----------
    left, right : Values
        The sides, in one unit [any].
    what : str
        What is balanced, for the message.
    tolerance : Values
        Largest difference that rounding explains, in the same unit [any].

    Raises
    ------
    BalanceError
        When they differ by more, with both sides printed.
    """
    apart = np.abs(np.asarray(left) - np.asarray(right)) > tolerance
    if np.any(apart):
        worst = int(np.argmax(np.ravel(apart)))
        first, second = (np.ravel(np.broadcast_to(side, np.shape(apart)))[worst] for side in (left, right))
        raise BalanceError(f"{what} does not close: {first:g} on one side, {second:g} on the other")


@formula(
    "T_Vtat = (G_V (a + b) + T_V b - G_H (c + d)) / b; T_Htat by moments about the front axle",
    source="BALLAST-OM",
    clause="real front load and real rear load",
    status="published",
    valid={
        "T_L": "(0, inf)",
        "T_V": "[0, inf)",
        "T_H": "[0, inf)",
        "G_V": "[0, inf)",
        "G_H": "[0, inf)",
        "a": "[0, 6]",
        "b": "(0, 6]",
        "c": "[0, 3]",
        "d": "[0, 6]",
        "tolerance": "[0, inf)",
    },
    note="one manual misprints the front load with - T_V b",
)
def axle_loads(
    T_L: Values,
    *,
    T_V: Values,
    T_H: Values,
    G_V: Values,
    G_H: Values,
    a: Values,
    b: Values,
    c: Values,
    d: Values,
    tolerance: Values = 1.0,
) -> AxleLoads:
    """Axle loads with machines in front and behind, each axle by its own moment, so that their sum is a check.

    Parameters
    ----------
    T_L : Values
        Mass of the tractor without machines or ballast [kg].
    T_V, T_H : Values
        Its front and rear axle loads [kg].
    G_V, G_H : Values
        Mass in front and behind, with all that is carried; 0 where there is none [kg].
    a : Values
        Front centre of mass ahead of the front axle [m].
    b : Values
        Wheelbase [m].
    c : Values
        Lower hitch points behind the rear axle [m].
    d : Values
        Rear centre of mass behind the lower hitch points [m].
    tolerance : Values
        Difference of the sums that rounded axle weights explain [kg].

    Returns
    -------
    AxleLoads
        Front, rear and total [kg]. A front load below zero means that the tractor tips backward.

    Raises
    ------
    BalanceError
        When the axle loads do not sum to the mass of tractor and machines.

    Notes
    -----
    One disc-mower manual prints the front load with `- T_V b`; the sign must be plus, by moments and by the other
    manuals. The rear load is printed as total less front; here it comes from moments about the front axle.
    """
    front = (G_V * (a + b) + T_V * b - G_H * (c + d)) / b
    rear = (T_H * b + G_H * (b + c + d) - G_V * a) / b
    total = G_V + T_L + G_H
    require_balance(front + rear, total, what="axle loads against mass [kg]", tolerance=tolerance)
    return AxleLoads(front, rear, total)


@formula(
    "s = T_tat / T_L",
    source="EN4254-10-OM",
    clause="axle load over unladen mass, as its 20 % and 45 % are",
    status="published",
    valid={"T_tat": "(-inf, inf)", "T_L": "(0, inf)"},
)
def axle_share(T_tat: Values, *, T_L: Values) -> Values:
    """Load on an axle with a machine raised, over the unladen mass: what the 20 and the 45 % are held against.

    Parameters
    ----------
    T_tat : Values
        Load on the axle with machine and ballast [kg].
    T_L : Values
        Mass of the tractor without machines or ballast [kg].

    Returns
    -------
    Values
        s, share of the unladen mass; below zero where the axle lifts [1].
    """
    return T_tat / T_L


@formula(
    "G_Vmin = (G_H (c + d) - T_V b + 0.2 T_L b) / (a + b), at least 0",
    source="BALLAST-OM",
    clause="front ballast; 20 % rule of EN4254-10-OM",
    status="published",
    valid={
        "G_H": "[0, inf)",
        "T_L": "(0, inf)",
        "T_V": "[0, inf)",
        "a": "[0, 6]",
        "b": "(0, 6]",
        "c": "[0, 3]",
        "d": "[0, 6]",
    },
    note="20 % of the UNLADEN tractor mass",
)
def front_ballast(G_H: Values, *, T_L: Values, T_V: Values, a: Values, b: Values, c: Values, d: Values) -> Values:
    """Least front ballast that keeps a fifth of the unladen mass on the front axle with the rear machine raised.

    Parameters
    ----------
    G_H : Values
        Rear machine with all that it carries [kg].
    T_L, T_V : Values
        Unladen mass of the tractor and its front axle load [kg].
    a : Values
        Ballast ahead of the front axle [m].
    b : Values
        Wheelbase [m].
    c : Values
        Lower hitch points behind the rear axle [m].
    d : Values
        Centre of mass of the machine behind the lower hitch points [m].

    Returns
    -------
    Values
        G_Vmin, front ballast [kg].
    """
    return np.maximum((G_H * (c + d) - T_V * b + FRONT_LEAST * T_L * b) / (a + b), 0.0)


@formula(
    "G_Hmin = (G_V a - T_H b + 0.45 T_L b) / (b + c + d), at least 0",
    source="BALLAST-OM",
    clause="rear ballast; 45 % rule of EN4254-10-OM",
    status="published",
    valid={
        "G_V": "[0, inf)",
        "T_L": "(0, inf)",
        "T_H": "[0, inf)",
        "a": "[0, 6]",
        "b": "(0, 6]",
        "c": "[0, 3]",
        "d": "[0, 6]",
    },
    note="45 % of the UNLADEN tractor mass",
)
def rear_ballast(G_V: Values, *, T_L: Values, T_H: Values, a: Values, b: Values, c: Values, d: Values) -> Values:
    """Least rear ballast that keeps 45 % of the unladen mass on the rear axle with a front-mounted machine raised.

    Parameters
    ----------
    G_V : Values
        Front machine with all that it carries [kg].
    T_L, T_H : Values
        Unladen mass of the tractor and its rear axle load [kg].
    a : Values
        Centre of mass of the machine ahead of the front axle [m].
    b : Values
        Wheelbase [m].
    c : Values
        Lower hitch points behind the rear axle [m].
    d : Values
        Ballast behind the lower hitch points [m].

    Returns
    -------
    Values
        G_Hmin, rear ballast [kg].
    """
    return np.maximum((G_V * a - T_H * b + REAR_LEAST * T_L * b) / (b + c + d), 0.0)


@formula(
    "M_H = G_H (c + d)",
    source="BALLAST-OM",
    clause="front load equation, the rear machine's moment about the rear axle",
    status="published",
    valid={"G_H": "[0, inf)", "c": "[0, 3]", "d": "[0, 6]"},
)
def rear_moment(G_H: Values, *, c: Values, d: Values) -> Values:
    """Moment of a rear machine about the rear axle, which takes load off the front axle.

    Parameters
    ----------
    G_H : Values
        Rear machine with all that it carries [kg].
    c : Values
        Lower hitch points behind the rear axle [m].
    d : Values
        Centre of mass of the machine behind the lower hitch points [m].

    Returns
    -------
    Values
        M_H, moment about the rear axle [kg m].
    """
    return G_H * (c + d)


@formula(
    "M_V = (T_V - 0.2 T_L) b",
    source="EN4254-10-OM",
    clause="front axle at least 20 % of unladen mass",
    status="published",
    valid={"T_V": "[0, inf)", "T_L": "(0, inf)", "b": "(0, 6]"},
    note="20 % of the UNLADEN tractor mass",
)
def front_moment_to_spare(T_V: Values, *, T_L: Values, b: Values) -> Values:
    """Moment about the rear axle that a tractor can give before the front axle carries too little.

    Parameters
    ----------
    T_V : Values
        Front axle load without machines, with the ballast fitted [kg].
    T_L : Values
        Mass of the tractor without machines or ballast [kg].
    b : Values
        Wheelbase [m].

    Returns
    -------
    Values
        M_V, moment to spare; below zero where the front axle is too light as it stands [kg m].
    """
    return (T_V - FRONT_LEAST * T_L) * b


@formula(
    "M_H = (T_H - 0.45 T_L) b",
    source="EN4254-10-OM",
    clause="rear axle at least 45 % of unladen mass with a front-mounted machine",
    status="published",
    valid={"T_H": "[0, inf)", "T_L": "(0, inf)", "b": "(0, 6]"},
    note="45 % of the UNLADEN tractor mass",
)
def rear_moment_to_spare(T_H: Values, *, T_L: Values, b: Values) -> Values:
    """Moment about the front axle that a tractor can give before the rear axle carries too little.

    Parameters
    ----------
    T_H : Values
        Rear axle load without machines, with the ballast fitted [kg].
    T_L : Values
        Mass of the tractor without machines or ballast [kg].
    b : Values
        Wheelbase [m].

    Returns
    -------
    Values
        M_H, moment to spare; below zero where the rear axle is too light as it stands [kg m].
    """
    return (T_H - REAR_LEAST * T_L) * b


@formula(
    "M >= (5 N b + I_2 (P + N - 5 G)) / (5 (I_1 + I_2) - I_2), at least 0",
    source="LOADER-OM",
    clause="rear counterweight for a front loader",
    status="published",
    valid={
        "N": "[0, inf)",
        "G": "[0, inf)",
        "P": "(0, inf)",
        "b": "[0, 6]",
        "I_1": "[0, 4]",
        "I_2": "(0, 6]",
    },
    note="20 % of the TOTAL mass on the rear axle, load at furthest reach",
)
def loader_counterweight(N: Values, *, G: Values, P: Values, b: Values, I_1: Values, I_2: Values) -> Values:
    """Least rear counterweight that keeps a fifth of the total mass on the rear axle with the loader full.

    Parameters
    ----------
    N : Values
        Load in the tool [kg].
    G : Values
        Rear axle load with loader and empty tool [kg].
    P : Values
        Total mass with loader and empty tool [kg].
    b : Values
        Centre of the load ahead of the front axle at furthest reach [m].
    I_1 : Values
        Counterweight behind the rear axle [m].
    I_2 : Values
        Wheelbase [m].

    Returns
    -------
    Values
        M, counterweight [kg].
    """
    return np.maximum((5 * N * b + I_2 * (P + N - 5 * G)) / (5 * (I_1 + I_2) - I_2), 0.0)


@formula(
    "N = G I_2 / b",
    source="HANDBOOK",
    clause="statics: moments about the front wheels' contact, rear axle unloaded",
    status="memory",
    valid={"G": "[0, inf)", "I_2": "(0, 6]", "b": "(0, 6]"},
)
def loader_tipping_load(G: Values, *, I_2: Values, b: Values) -> Values:
    """Load in the tool of a front loader at which the rear wheels leave the ground.

    Parameters
    ----------
    G : Values
        Rear axle load with loader and empty tool [kg].
    I_2 : Values
        Wheelbase [m].
    b : Values
        Centre of the load ahead of the front axle at furthest reach [m].

    Returns
    -------
    Values
        N, tipping load [kg].
    """
    return G * I_2 / b
