"""What a front loader lifts ahead of its pivot pin, and how high a stack asks it to reach."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "F(x) = F_pin / (1 + k x)",
    source="PRACTICE",
    clause="moment about the loader arm's mounting pivot; derived",
    status="practice",
    valid={"F_pin": "[0, inf)", "x": "[0, 3]", "k": "[0, 3]"},
    note="k 0.66 to 0.88: the trade reckons 25 to 40 % less at 20 to 30 in ahead of the pin",
)
def lift_ahead_of_pin(F_pin: Values, *, x: Values, k: Values) -> Values:
    """Mass a loader lifts with its centre ahead of the pivot pin.

    Parameters
    ----------
    F_pin : Values
        Lift at the pivot pin, at the height asked [kg].
    x : Values
        Centre of load and tool ahead of the pin [m].
    k : Values
        One over the reach of the pin ahead of the arm's mounting pivot [1/m].

    Returns
    -------
    Values
        F(x), mass of load and tool together [kg].
    """
    return F_pin / (1 + k * x)


@formula(
    "H = (n - 1 + q) h + e",
    source="PRACTICE",
    clause="stack height",
    status="practice",
    valid={"n": "[1, 10]", "h": "(0, 3]", "q": "[0, 1]", "e": "[0, 1]"},
)
def height_to_stack(n: Values, *, h: Values, q: Values, e: Values) -> Values:
    """Height to which the pin rises to set the top bale or pallet of a stack.

    Parameters
    ----------
    n : Values
        Bales or pallets on top of each other [1].
    h : Values
        Height of one as it lies [m].
    q : Values
        Where it is held above its underside, as a share of its height: 0 on forks, 0.5 on a spear [fraction].
    e : Values
        Clearance over the one below [m].

    Returns
    -------
    Values
        H, height of the pin [m].
    """
    return (n - 1 + q) * h + e
