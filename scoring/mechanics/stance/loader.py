"""What a front loader lifts ahead of its pivot pin, and how high a stack asks it to reach."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "F(x) = F_pin / (1 + k x)",
    source="PRACTICE",
    clause="moment about the loader arm's mounting pivot; derived",
    status="practice",
    valid={"F_pin": "[0, inf)", "x": "[0, 8]", "k": "[0, 3]"},
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
    "H = (n - 1) h + q t + e",
    source="PRACTICE",
    clause="stack height",
    status="practice",
    valid={"n": "[0, 10]", "h": "(0, 15]", "q": "[0, 1]", "t": "(0, 15]", "e": "[0, 1]"},
)
def height_to_stack(n: Values, *, h: Values, q: Values, t: Values, e: Values) -> Values:
    """Height to which the pin rises to set the top bale or pallet of a stack.

    Parameters
    ----------
    n : Values
        Bales or pallets on top of each other [1].
    h : Values
        Rise for each layer: less than the thickness where round ones nest [m].
    q : Values
        Where it is held above its underside, as a share of its thickness: 0 on forks, 0.5 on a spear [fraction].
    t : Values
        Thickness of one as it lies [m].
    e : Values
        Clearance over the one below [m].

    Returns
    -------
    Values
        H, height of the pin [m].
    """
    return (n - 1) * h + q * t + e


@formula(
    "F_pin = m / (F(x)/F_pin gain (1 - r))",
    source="PRACTICE",
    clause="lift ahead of the pin, turned round",
    status="practice",
    valid={"m": "[0, inf)", "share": "(0, 1]", "gain": "[1, 3]", "r": "[0, 1)"},
)
def pin_lift_asked(m: Values, *, share: Values, gain: Values, r: Values) -> Values:
    """Lift at the pin at full height that a load ahead of it asks.

    Parameters
    ----------
    m : Values
        Load and tool together [kg].
    share : Values
        Share of the pin's lift that is left where they are (`lift_ahead_of_pin` of 1 kg) [fraction].
    gain : Values
        Lift at the height asked over lift at full height [1].
    r : Values
        Share of the lift kept in hand [fraction].

    Returns
    -------
    Values
        F_pin, lift at the pin at full height [kg].
    """
    return m / share / gain / (1 - r)


@formula(
    "H = h + d",
    source="PRACTICE",
    clause="dump height and reach of the bucket",
    status="practice",
    valid={"h": "[0, 15]", "d": "[0, 3]"},
)
def height_to_tip(h: Values, *, d: Values) -> Values:
    """Height of the pin that tips a bucket over an edge.

    Parameters
    ----------
    h : Values
        Height of the edge [m].
    d : Values
        How far the tipped bucket hangs below its pin; 0 where nothing is tipped [m].

    Returns
    -------
    Values
        H, height of the pin [m].
    """
    return h + d


@formula(
    "h = k d",
    source="PRACTICE",
    clause="bales in the hollows of the layer below, or on top",
    status="practice",
    valid={"d": "(0, inf)", "k": "(0, 1]"},
)
def nested_rise(d: Values, *, k: Values) -> Values:
    """Rise for each layer of round bales on top of each other.

    Parameters
    ----------
    d : Values
        Diameter of a bale [m].
    k : Values
        Rise over diameter: 0.87 nested, 1 straight on top [1].

    Returns
    -------
    Values
        h, rise for each layer [m].
    """
    return d * k
