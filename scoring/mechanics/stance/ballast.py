"""How heavy a tractor should be for its power, and how its mass should lie on the axles."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "m = k P",
    source="BALLAST-ZA",
    clause="mass per power by drive (ballast.csv)",
    status="published",
    valid={"P": "[0, inf)", "k": "(0, 200]"},
    note="PTO power for 2WD and front wheel assist, ENGINE power for 4WD",
    checks=("STAB-04",),
)
def ballasted_mass(P: Values, *, k: Values) -> Values:
    """Mass a tractor is ballasted to.

    Parameters
    ----------
    P : Values
        Power on the basis of k's row [kW].
    k : Values
        Mass per power [kg/kW].

    Returns
    -------
    Values
        m, mass with ballast [kg].
    """
    return k * P


@formula(
    "m_front = f m",
    source="BALLAST-ZA",
    clause="static split by drive and work (ballast.csv)",
    status="published",
    valid={"m": "[0, inf)", "f": "[0, 1]"},
)
def front_mass(m: Values, *, f: Values) -> Values:
    """Mass on the front axle for a static split.

    Parameters
    ----------
    m : Values
        Mass with ballast [kg].
    f : Values
        Front share [fraction].

    Returns
    -------
    Values
        m_front, mass on the front axle [kg].
    """
    return f * m
