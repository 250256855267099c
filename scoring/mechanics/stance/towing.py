"""How heavy a towed machine a tractor may have behind it, by brakes and speed. The law of the place comes first."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "m_towed = min(k m, m_max)",
    source="OM-TOW1",
    clause="towed equipment at safe speeds (towing.csv)",
    status="published",
    valid={"m": "[0, inf)", "k": "(0, 10]", "m_max": "(0, inf]"},
    note="4.5 braked to 40 km/h, 3.0 at 40 to 50 km/h, 1.5 unbraked",
)
def towed_limit(m: Values, *, k: Values, m_max: Values = np.inf) -> Values:
    """Largest towed mass behind a tractor.

    Parameters
    ----------
    m : Values
        Mass of the tractor [kg].
    k : Values
        Towed mass over tractor mass, by brakes and speed [fraction].
    m_max : Values
        Largest towed mass of the rule, infinite where it names none [kg].

    Returns
    -------
    Values
        m_towed, mass with its load [kg].
    """
    return np.minimum(k * m, m_max)


@formula(
    "m = m_towed / k",
    source="OM-TOW1",
    clause="towed equipment at safe speeds (towing.csv), solved for the tractor",
    status="published",
    valid={"m_towed": "[0, inf)", "k": "(0, 10]"},
)
def tractor_mass_needed(m_towed: Values, *, k: Values) -> Values:
    """Tractor mass that a towed mass asks for.

    Parameters
    ----------
    m_towed : Values
        Towed mass with its load [kg].
    k : Values
        Towed mass over tractor mass, by brakes and speed [fraction].

    Returns
    -------
    Values
        m, mass of the tractor [kg].
    """
    return m_towed / k


@formula(
    "m_t = k m",
    source="PRACTICE",
    clause="share of the loaded mass that a tongue presses on the drawbar with",
    status="practice",
    valid={"m": "[0, inf)", "k": "[0, 1]"},
)
def tongue_load(m: Values, *, k: Values) -> Values:
    """Tongue load of a towed machine.

    Parameters
    ----------
    m : Values
        Machine with its load [kg].
    k : Values
        Share of it on the tongue [fraction].

    Returns
    -------
    Values
        m_t, load on the drawbar [kg].
    """
    return k * m
