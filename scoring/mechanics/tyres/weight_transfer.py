"""Load that a pull shifts from the front axle to the rear."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "dR = P y / b",
    source="HANDBOOK",
    clause="statics: moments about the rear wheels' contact",
    status="memory",
    valid={"P": "[0, inf)", "y": "[0, 1.5]", "b": "(0, 6]"},
    checks=("STAB-01",),
)
def weight_transfer(P: Values, *, y: Values, b: Values) -> Values:
    """Load that a level pull adds to the rear axle and takes off the front axle.

    Parameters
    ----------
    P : Values
        Pull along the ground [kN].
    y : Values
        Height of the pull above the ground [m].
    b : Values
        Wheelbase [m].

    Returns
    -------
    Values
        dR, load shifted [kN].
    """
    return P * y / b
