"""What a three-point hitch lifts at the centre of mass of a machine, from the two points at which it is tested.

Lift tests compare tractors; their standard says that they do not recommend an implement size (ISO 789-2, note 1).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values

FRAME: Final = 0.61
"""Distance of the test frame behind the lower hitch points, 24 in in the trade [m]."""


@formula(
    "L_c = 0.61 / (F_0 / F_610 - 1)",
    source="PRACTICE",
    clause="virtual link through the two test points of ISO 789-2; derived by moments",
    status="practice",
    valid={"F_0": "(0, inf)", "F_610": "(0, inf)"},
    note="infinite, a parallel linkage, where F_0 <= F_610",
)
def virtual_link(F_0: Values, *, F_610: Values) -> Values:
    """Length of the virtual link ahead of the ball ends about which the hitch turns.

    Parameters
    ----------
    F_0 : Values
        Lift at the lower hitch points, over the full travel [kg].
    F_610 : Values
        Lift on the frame 610 mm behind them [kg].

    Returns
    -------
    Values
        L_c, length of the virtual link [m].
    """
    excess = np.maximum(F_0 / F_610 - 1, 0.0)
    with np.errstate(divide="ignore"):
        length: Values = np.divide(FRAME, excess)
    return length


@formula(
    "F(x) = F_0 / (1 + x / L_c)",
    source="PRACTICE",
    clause="virtual link through the two test points of ISO 789-2; derived by moments",
    status="practice",
    valid={"x": "[0, 5]", "F_0": "(0, inf)", "F_610": "(0, inf)"},
    note="F_0 at any distance where F_0 <= F_610; check tipping",
)
def lift_at(x: Values, *, F_0: Values, F_610: Values) -> Values:
    """Lift at a distance behind the ball ends, between the two test points and beyond them.

    Parameters
    ----------
    x : Values
        Distance of the centre of mass behind the lower hitch points [m].
    F_0 : Values
        Lift at the lower hitch points, over the full travel [kg].
    F_610 : Values
        Lift on the frame 610 mm behind them [kg].

    Returns
    -------
    Values
        F(x), mass the hitch lifts with its centre there [kg].
    """
    return F_0 / (1 + x / virtual_link(F_0, F_610=F_610))


@formula(
    "F(x) = F_610 0.61 / x, F_610 where x <= 0.61",
    source="PRACTICE",
    clause="only the frame point known; conservative",
    status="practice",
    valid={"x": "[0, 5]", "F_610": "(0, inf)"},
)
def lift_from_frame(x: Values, *, F_610: Values) -> Values:
    """Lift at a distance behind the ball ends where only the lift on the frame is known.

    Parameters
    ----------
    x : Values
        Distance of the centre of mass behind the lower hitch points [m].
    F_610 : Values
        Lift on the frame 610 mm behind them [kg].

    Returns
    -------
    Values
        F(x), mass the hitch surely lifts with its centre there [kg].
    """
    return F_610 * FRAME / np.maximum(x, FRAME)


@formula(
    "m_610 = m x / 0.61, m where x <= 0.61",
    source="PRACTICE",
    clause="only the frame point known; conservative",
    status="practice",
    valid={"m": "[0, inf)", "x": "[0, 5]"},
)
def load_at_frame(m: Values, *, x: Values) -> Values:
    """Mass on the test frame that asks as much of the hitch as a machine with its centre of mass elsewhere.

    Parameters
    ----------
    m : Values
        Mass of the machine with what it carries [kg].
    x : Values
        Distance of the centre of mass behind the lower hitch points [m].

    Returns
    -------
    Values
        m_610, the same load brought to the frame [kg].
    """
    return m * np.maximum(x, FRAME) / FRAME


@formula(
    "m_610 = m (1 + x / L_c) / (1 + 0.61 / L_c)",
    source="PRACTICE",
    clause="virtual link; derived by moments",
    status="practice",
    valid={"m": "[0, inf)", "x": "[0, 5]", "L_c": "(0, inf]"},
)
def load_at_frame_by_link(m: Values, *, x: Values, L_c: Values) -> Values:
    """Mass on the test frame that asks as much of a hitch whose virtual link is known.

    Parameters
    ----------
    m : Values
        Mass of the machine with what it carries [kg].
    x : Values
        Distance of the centre of mass behind the lower hitch points [m].
    L_c : Values
        Length of the virtual link, infinite for a parallel linkage [m].

    Returns
    -------
    Values
        m_610, the same load brought to the frame [kg].
    """
    return m * (1 + x / L_c) / (1 + FRAME / L_c)


@formula(
    "F_test = 0.90 F_full",
    source="OECD2",
    clause="hydraulic lift at 90 % of relief-valve pressure",
    status="memory",
    valid={"F_full": "[0, inf)"},
)
def tested_lift(F_full: Values) -> Values:
    """Lift as a test code gives it, from a lift stated at full relief pressure.

    Parameters
    ----------
    F_full : Values
        Lift stated at full relief-valve pressure [kg].

    Returns
    -------
    Values
        F_test, lift at 90 % of that pressure [kg].
    """
    return 0.90 * F_full


@formula(
    "F = m / (1 - r)",
    source="PRACTICE",
    clause="reserve of lift",
    status="practice",
    valid={"m": "[0, inf)", "r": "[0, 1)"},
)
def lift_with_reserve(m: Values, *, r: Values) -> Values:
    """Lift asked where a share of it is to stay in hand.

    Parameters
    ----------
    m : Values
        Mass lifted [kg].
    r : Values
        Share of the lift kept in hand [fraction].

    Returns
    -------
    Values
        F, lift asked [kg].
    """
    return m / (1 - r)


@formula(
    "M = m x",
    source="PRACTICE",
    clause="moment of a force",
    status="practice",
    valid={"m": "[0, inf)", "x": "[0, 10]"},
)
def hitch_moment(m: Values, *, x: Values) -> Values:
    """Moment of a mass about the hitch balls.

    Parameters
    ----------
    m : Values
        Mass [kg].
    x : Values
        Centre of mass behind the balls [m].

    Returns
    -------
    Values
        M, moment [kg m].
    """
    return m * x


@formula(
    "x = w / 2 + e",
    source="PRACTICE",
    clause="half the bale and the gap",
    status="practice",
    valid={"w": "(0, inf)", "e": "[0, 2]"},
)
def bale_reach(w: Values, *, e: Values) -> Values:
    """Centre of a bale from the hitch balls or the loader pin.

    Parameters
    ----------
    w : Values
        Width of the bale along the spear [m].
    e : Values
        Gap before its near face [m].

    Returns
    -------
    Values
        x, distance to the centre [m].
    """
    return w / 2 + e
