"""What a driven tyre pulls, by the first traction model: ratios to its load, by slip and mobility number."""

from __future__ import annotations

import warnings
from typing import Final

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import GRAVITY, Values
from evener.scoring.mechanics.validity import Interval, OutOfRange, OutsideTests

_WIDTH_TO_DIAMETER: Final = Interval.parse("[0.1, 0.7]")
_CONTACT_PRESSURE: Final = Interval.parse("[15, 55]")
_GOLDEN: Final = (np.sqrt(5) - 1) / 2
_STEPS: Final = 60
"""Halvings or golden cuts: more than a double can resolve."""


@formula(
    "B_n = (CI b d / W) (1 + 5 delta/h) / (1 + 3 b/d)",
    source="BRX-NOTES",
    clause="mobility number; original Brixius 1987, ASAE paper 87-1622",
    status="published",
    valid={"CI": "(0, 5000]", "b": "(0, 1.5]", "d": "(0, 2.5]", "W": "(0, inf)", "delta_h": "[0.1, 0.3]"},
    note="b/d [0.1, 0.7] and delta/h from D497.4; tests cover W/(b d) [15, 55] kN/m2, outside it warns",
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
        B_n, mobility number [1].

    Raises
    ------
    OutOfRange
        When b/d is outside 0.1 to 0.7 (D497.4).

    Warns
    -----
    OutsideTests
        When W/(b d) is outside 15 to 55 kN/m2, the loads of the tests (from memory); light tractors are below it.
    """
    if not _WIDTH_TO_DIAMETER.holds(b / d):
        outsider = _WIDTH_TO_DIAMETER.outsider(b / d)
        raise OutOfRange(
            f"traction.mobility_number: b/d = {outsider:g} is outside {_WIDTH_TO_DIAMETER.text}, the tyres of the "
            "equations (D497.4). Check tyre width and diameter and their unit."
        )
    if not _CONTACT_PRESSURE.holds(W / (b * d)):
        outsider = _CONTACT_PRESSURE.outsider(W / (b * d))
        warnings.warn(
            f"W/(b d) = {outsider:.3g} kN/m2 is outside {_CONTACT_PRESSURE.text}, the loads of the traction tests",
            OutsideTests,
            stacklevel=3,
        )
    number: Values = CI * b * d / W * (1 + 5 * delta_h) / (1 + 3 * b / d)
    return number


@formula(
    "GT/W = 0.88 (1 - exp(-0.1 B_n)) (1 - exp(-7.5 s)) + 0.04",
    source="BRX-NOTES",
    clause="gross traction ratio",
    status="published",
    valid={"B_n": "(0, inf)", "s": "[0, 1]"},
    note="bias-ply tyres; constants for radials are unconfirmed and not used",
    checks=("TABLE-TE",),
)
def gross_traction(B_n: Values, *, s: Values) -> Values:
    """Gross traction of a driven wheel over its load.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        GT/W, gross traction ratio [fraction].
    """
    ratio: Values = 0.88 * (1 - np.exp(-0.1 * B_n)) * (1 - np.exp(-7.5 * s)) + 0.04
    return ratio


@formula(
    "MR/W = 1/B_n + 0.04 + 0.5 s / sqrt(B_n)",
    source="BRX-NOTES",
    clause="motion resistance ratio",
    status="published",
    valid={"B_n": "(0, inf)", "s": "[0, 1]"},
    note="one text misprints 0.4 for 0.04, another writes slip in per cent (0.005 s)",
    checks=("TABLE-TE",),
)
def motion_resistance(B_n: Values, *, s: Values) -> Values:
    """Motion resistance of a driven wheel over its load.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        MR/W, motion resistance ratio [fraction].
    """
    ratio: Values = 1 / B_n + 0.04 + 0.5 * s / np.sqrt(B_n)
    return ratio


@formula(
    "MR/W = 1/B_n + 0.04",
    source="D497",
    clause="motion resistance of undriven wheels",
    status="memory",
    valid={"B_n": "(0, inf)"},
)
def undriven_resistance(B_n: Values) -> Values:
    """Motion resistance of a wheel that is not driven over its load.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].

    Returns
    -------
    Values
        MR/W, motion resistance ratio [fraction].
    """
    return 1 / B_n + 0.04


@formula(
    "R = (MR/W) m g / 1000",
    source="D497",
    clause="motion resistance",
    status="memory",
    valid={"m": "[0, inf)", "MR_W": "[0, 1]"},
    checks=("TRAC-05",),
)
def rolling_force(m: Values, *, MR_W: Values) -> Values:
    """Force that rolls a mass on its own wheels over level ground.

    Parameters
    ----------
    m : Values
        Mass on the wheels [kg].
    MR_W : Values
        Motion resistance ratio [fraction].

    Returns
    -------
    Values
        R, motion resistance [kN].
    """
    return MR_W * m * GRAVITY / 1000


@formula(
    "NT/W = GT/W - MR/W",
    source="BRX-NOTES",
    clause="net traction ratio",
    status="published",
    valid={"B_n": "(0, inf)", "s": "[0, 1]"},
    checks=("TABLE-TE",),
)
def net_traction(B_n: Values, *, s: Values) -> Values:
    """Net traction of a driven wheel over its load: what is left to pull with.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        NT/W, net traction ratio; below zero near zero slip [fraction].
    """
    return gross_traction(B_n, s=s) - motion_resistance(B_n, s=s)


@formula(
    "TE = (1 - s) NT / (NT + MR)",
    source="D497",
    clause="tractive efficiency",
    status="memory",
    valid={"NT": "[0, inf)", "MR": "[0, inf)", "s": "[0, 1]"},
    checks=("TRAC-04",),
)
def efficiency_of_pull(NT: Values, *, MR: Values, s: Values) -> Values:
    """Tractive efficiency from a pull, the motion resistance overcome with it and the slip.

    Parameters
    ----------
    NT : Values
        Net traction, the pull [kN].
    MR : Values
        Motion resistance of the driven wheels [kN].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        TE, power at the drawbar over power at the axle [fraction].
    """
    return (1 - s) * NT / (NT + MR)


@formula(
    "TE = (1 - s) NT / GT",
    source="D497",
    clause="tractive efficiency",
    status="memory",
    valid={"B_n": "(0, inf)", "s": "[0, 1]"},
    checks=("TABLE-TE",),
)
def tractive_efficiency(B_n: Values, *, s: Values) -> Values:
    """Tractive efficiency of a driven wheel.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].
    s : Values
        Slip [fraction].

    Returns
    -------
    Values
        TE, power at the drawbar over power at the axle; below zero where the wheel cannot move itself [fraction].
    """
    return (1 - s) * net_traction(B_n, s=s) / gross_traction(B_n, s=s)


@formula(
    "s where d(TE)/ds = 0",
    source="D497",
    clause="tractive efficiency, solved for its peak",
    status="memory",
    valid={"B_n": "[2, inf)"},
    checks=("TABLE-SLIP",),
)
def best_slip(B_n: Values) -> Values:
    """Slip at which a driven wheel is most efficient.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].

    Returns
    -------
    Values
        s, slip of the highest tractive efficiency [fraction].
    """
    low: Values = 0 * B_n
    high: Values = low + 0.9
    for _ in range(_STEPS):
        inner, outer = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        rising = tractive_efficiency(B_n, s=inner) < tractive_efficiency(B_n, s=outer)
        low, high = np.where(rising, inner, low)[()], np.where(rising, high, outer)[()]
    return (low + high) / 2


@formula(
    "s where d(NT)/ds = 0: s = ln(13.2 (1 - exp(-0.1 B_n)) sqrt(B_n)) / 7.5",
    source="BRX-NOTES",
    clause="net traction ratio, solved for its peak",
    status="published",
    valid={"B_n": "[2, inf)"},
)
def slip_of_largest_pull(B_n: Values) -> Values:
    """Slip beyond which a driven wheel only digs.

    Parameters
    ----------
    B_n : Values
        Mobility number [1].

    Returns
    -------
    Values
        s, slip of the largest net traction [fraction].
    """
    return np.minimum(np.log(0.88 * 7.5 / 0.5 * (1 - np.exp(-0.1 * B_n)) * np.sqrt(B_n)) / 7.5, 1.0)


@formula(
    "s where NT/W equals the ratio",
    source="BRX-NOTES",
    clause="net traction ratio, solved for slip",
    status="published",
    valid={"NT_W": "[0, 1]", "B_n": "[2, inf)"},
    note="no slip gives more than the largest net traction of the soil",
)
def slip_for_pull(NT_W: Values, *, B_n: Values) -> Values:
    """Slip at which a driven wheel gives a net traction ratio.

    Parameters
    ----------
    NT_W : Values
        Net traction over load [fraction].
    B_n : Values
        Mobility number [1].

    Returns
    -------
    Values
        s, slip [fraction].

    Raises
    ------
    OutOfRange
        When the soil does not give so much at any slip.
    """
    low: Values = 0 * (B_n + NT_W)
    high: Values = low + slip_of_largest_pull(B_n)
    largest = net_traction(B_n, s=high)
    if np.any(largest < NT_W):
        raise OutOfRange(
            f"traction.slip_for_pull: a pull of {float(np.max(NT_W)):.3g} of the load is more than this soil gives at "
            f"any slip ({float(np.min(largest)):.3g}). Add mass, drive more wheels or pull less."
        )
    for _ in range(_STEPS):
        middle = (low + high) / 2
        short = net_traction(B_n, s=middle) < NT_W
        low, high = np.where(short, middle, low)[()], np.where(short, high, middle)[()]
    return high


@formula(
    "CI' = k CI",
    source="PRACTICE",
    clause="spread about the table's value (allowance.csv)",
    status="practice",
    valid={"CI": "(0, inf)", "k": "(0, 3]"},
)
def cone_index_met(CI: Values, *, k: Values) -> Values:
    """Cone index of one soil within the spread of its kind.

    Parameters
    ----------
    CI : Values
        Cone index of the kind of soil [kPa].
    k : Values
        One soil over its kind [1].

    Returns
    -------
    Values
        CI', cone index of the soil [kPa].
    """
    return CI * k
