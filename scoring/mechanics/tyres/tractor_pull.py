"""What a whole tractor pulls at a slip: both axles, with the load that the pull itself shifts to the rear."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values
from evener.scoring.mechanics.validity import OutOfRange


@formula(
    "P = (W_r t_r + W_f t_f) / (1 - (y / b) (t_r - t_f))",
    source="HANDBOOK",
    clause="statics: net traction of both axles at their dynamic loads",
    status="memory",
    valid={
        "W_r": "[0, inf)",
        "W_f": "[0, inf)",
        "t_r": "[-1, 1]",
        "t_f": "[-1, 1]",
        "y": "[0, 1.5]",
        "b": "(0, 6]",
    },
    note="t at one slip for all driven wheels; t_f = -MR/W for an undriven front axle",
)
def pull_at_slip(W_r: Values, *, W_f: Values, t_r: Values, t_f: Values, y: Values, b: Values) -> Values:
    """Level pull of a tractor at a slip.

    Parameters
    ----------
    W_r, W_f : Values
        Static loads on the rear and front axles [kN].
    t_r, t_f : Values
        Net traction ratio of each axle; minus the motion resistance ratio where it is not driven [fraction].
    y : Values
        Height of the pull above the ground [m].
    b : Values
        Wheelbase [m].

    Returns
    -------
    Values
        P, pull along the ground; below zero where the tractor cannot move itself [kN].

    Raises
    ------
    OutOfRange
        When the pull would lift the front axle.

    Notes
    -----
    The pull shifts P y / b from the front axle to the rear, and each axle pulls at the load it then carries:
    P = (W_r + P y / b) t_r + (W_f - P y / b) t_f, solved for P.
    """
    pull = (W_r * t_r + W_f * t_f) / (1 - y / b * (t_r - t_f))
    front = W_f - pull * y / b
    if np.any(front < 0):
        raise OutOfRange(
            f"tractor_pull.pull_at_slip: the pull would lift the front axle (load {float(np.min(front)):.3g} kN). "
            "Lower the hitch point or add front ballast."
        )
    return pull
