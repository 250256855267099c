"""The pull a tillage or seeding tool asks, from its width, depth and speed and from the soil."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "D = F_i (A + B S + C S^2) W T / 1000",
    source="UAZ",
    clause="draft equation after ASABE D497, table 1 (parameters in draft.csv)",
    status="published",
    valid={
        "F_i": "(0, 1]",
        "A": "[0, inf)",
        "B": "[0, inf)",
        "C": "[0, inf)",
        "S": "[0, 25]",
        "W": "[0, 200]",
        "T": "(0, 90]",
    },
    note="rows are +-15 to +-50 %; tines in the tractor's own wheel tracks ask about double",
    checks=("PTO-01",),
)
def draft(F_i: Values, *, A: Values, B: Values, C: Values, S: Values, W: Values, T: Values) -> Values:
    """Draft of a tillage or seeding tool.

    Parameters
    ----------
    F_i : Values
        Soil factor: F_1 fine, F_2 medium, F_3 coarse [fraction].
    A, B, C : Values
        Parameters of the tool's row, for N per unit of W and T and for S in km/h [row's unit].
    S : Values
        Travel speed [km/h].
    W : Values
        Width in the row's unit: metres, tools or rows [m or 1].
    T : Values
        Depth; 1 for minor tillage and seeding [cm].

    Returns
    -------
    Values
        D, horizontal pull along the travel [kN].

    Notes
    -----
    The form was seen in print; most rows of the table are from memory. The source gives D in newtons.
    """
    return F_i * (A + B * S + C * S**2) * W * T / 1000


@formula(
    "D = p w d",
    source="HANDBOOK",
    clause="unit draft of a plough times the furrow's cross-section",
    status="memory",
    valid={"p": "[0, 200]", "w": "[0, 10]", "d": "[0, 1]"},
    note="p about 20 kPa in sand to 140 kPa in dry adobe",
    checks=("DRAFT-04", "DRAFT-06", "DRAFT-09", "DRAFT-13", "DRAFT-14", "DRAFT-15"),
)
def plough_draft(p: Values, *, w: Values, d: Values) -> Values:
    """Draft of a plough from the unit draft of the soil.

    Parameters
    ----------
    p : Values
        Unit draft of the soil [kPa].
    w : Values
        Width of all furrows together [m].
    d : Values
        Depth [m].

    Returns
    -------
    Values
        D, horizontal pull along the travel [kN].
    """
    return p * w * d


@formula(
    "k = 1 + 0.14 (S / 1.6 - 1)",
    source="HANDBOOK",
    clause="speed allowance on a plough's draft: 14 % for each 1.6 km/h above 1.6 km/h",
    status="memory",
    valid={"S": "[1.6, 9.6]"},
    note="one source applies it to all of the draft, one only to the part that turns the slice",
    checks=("DRAFT-07",),
)
def speed_factor(S: Values) -> Values:
    """Factor on a plough's draft measured at 1.6 km/h.

    Parameters
    ----------
    S : Values
        Travel speed [km/h].

    Returns
    -------
    Values
        k, draft over draft at 1.6 km/h [1].
    """
    return 1 + 0.14 * (S / 1.6 - 1)


@formula(
    "D' = k D",
    source="PRACTICE",
    clause="the +-range of a row is two standard deviations; custom",
    status="practice",
    valid={"D": "[0, inf)", "k": "(-0.5, 3]"},
)
def scattered_draft(D: Values, *, k: Values) -> Values:
    """Draft of one tool within the printed range of its row.

    Parameters
    ----------
    D : Values
        Draft by the row [kN].
    k : Values
        One tool over the row [1].

    Returns
    -------
    Values
        D', draft of the tool [kN].
    """
    return D * k


@formula(
    "W = w / s, at least 1",
    source="PRACTICE",
    clause="width over spacing",
    status="practice",
    valid={"w": "(0, inf)", "s": "(0, inf)"},
)
def tools_across(w: Values, *, s: Values) -> Values:
    """Count the tools or rows across a width.

    Parameters
    ----------
    w : Values
        Working width [m].
    s : Values
        Spacing of the tools or rows [m].

    Returns
    -------
    Values
        W, number of tools or rows [1].
    """
    return np.maximum(w / s, 1.0)
