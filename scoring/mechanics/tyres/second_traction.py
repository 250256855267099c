"""What a driven tyre pulls, by the second traction model: a rival of `traction`, kept to hold one against the other.

Gee-Clough D., McAllister M., Pearson G., Evernden D.W. 1978, The empirical prediction of tractor-implement field
performance, Journal of Terramechanics 15(2):81-94 (citation from memory).
"""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "M = (CI b d / W) sqrt(delta/h) / (1 + b / (2 d))",
    source="GEE-CLOUGH-78",
    clause="mobility number of Gee-Clough, McAllister, Pearson and Evernden",
    status="memory",
    valid={"CI": "(0, 5000]", "b": "(0, 1.5]", "d": "(0, 2.5]", "W": "(0, inf)", "delta_h": "[0.05, 0.35]"},
    checks=("TRAC-01",),
)
def mobility_number(CI: Values, *, b: Values, d: Values, W: Values, delta_h: Values) -> Values:
    """Mobility number of a tyre on a soil.

    Parameters
    ----------
    CI : Values
        Cone index of the soil [kPa].
    b : Values
        Section width of the tyre [m].
    d : Values
        Overall diameter [m].
    W : Values
        Load on the wheel [kN].
    delta_h : Values
        Deflection over section height, delta/h in the equation [fraction].

    Returns
    -------
    Values
        M, mobility number [1].
    """
    number: Values = CI * b * d / W * np.sqrt(delta_h) / (1 + b / (2 * d))
    return number


@formula(
    "(C_T)_max = 0.796 - 0.92 / M",
    source="GEE-CLOUGH-78",
    clause="Gee-Clough and others",
    status="memory",
    valid={"M": "[1.2, inf)"},
    note="seen in a lecture assignment that quotes a table 5.2 after them",
    checks=("TRAC-01",),
)
def largest_traction(M: Values) -> Values:
    """Largest coefficient of traction.

    Parameters
    ----------
    M : Values
        Mobility number [1].

    Returns
    -------
    Values
        (C_T)_max, pull over load at full slip [fraction].
    """
    return 0.796 - 0.92 / M


@formula(
    "k (C_T)_max = 4.838 + 0.061 M",
    source="GEE-CLOUGH-78",
    clause="Gee-Clough and others",
    status="memory",
    valid={"M": "[1.2, inf)"},
    checks=("TRAC-01",),
)
def rate(M: Values) -> Values:
    """Rise of traction with slip, at zero slip.

    Parameters
    ----------
    M : Values
        Mobility number [1].

    Returns
    -------
    Values
        k (C_T)_max, rate constant times largest coefficient [1].
    """
    return 4.838 + 0.061 * M


@formula(
    "C_RR = 0.049 + 0.287 / M",
    source="GEE-CLOUGH-78",
    clause="Gee-Clough and others",
    status="memory",
    valid={"M": "[1.2, inf)"},
    checks=("TRAC-01",),
)
def rolling_resistance(M: Values) -> Values:
    """Coefficient of rolling resistance.

    Parameters
    ----------
    M : Values
        Mobility number [1].

    Returns
    -------
    Values
        C_RR, rolling resistance over load [fraction].
    """
    return 0.049 + 0.287 / M


@formula(
    "C_T = (C_T)_max (1 - exp(-k s))",
    source="GEE-CLOUGH-78",
    clause="Gee-Clough and others",
    status="memory",
    valid={"M": "[1.2, inf)", "s": "[0, 1]"},
    checks=("TRAC-01",),
)
def traction_coefficient(M: Values, *, s: Values) -> Values:
    """Coefficient of traction, pull over load.

    Parameters
    ----------
    M : Values
        Mobility number [1].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        C_T, coefficient of traction [fraction].
    """
    most = largest_traction(M)
    coefficient: Values = most * (1 - np.exp(-rate(M) / most * s))
    return coefficient


@formula(
    "eta = (1 - s) C_T / (C_T + C_RR)",
    source="GEE-CLOUGH-78",
    clause="Gee-Clough and others",
    status="memory",
    valid={"M": "[1.2, inf)", "s": "[0, 1]"},
    checks=("TRAC-01",),
)
def efficiency(M: Values, *, s: Values) -> Values:
    """Tractive efficiency of a driven wheel.

    Parameters
    ----------
    M : Values
        Mobility number [1].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        eta, power at the drawbar over power at the axle [fraction].
    """
    pull = traction_coefficient(M, s=s)
    return (1 - s) * pull / (pull + rolling_resistance(M))
