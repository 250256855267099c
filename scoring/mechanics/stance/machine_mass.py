"""What a machine weighs: by the line of its family's records, and full."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "ln m = a + b ln x + s z",
    source="PRACTICE",
    clause="power law over the records of a family",
    status="practice",
    valid={"x": "(0, inf)", "a": "(-inf, inf)", "b": "(-inf, inf)", "s": "[0, inf)", "z": "[-4, 4]"},
)
def mass_of_size(x: Values, *, a: Values, b: Values, s: Values, z: Values) -> Values:
    """Mass of a machine by its size, with the scatter of its family's records.

    Parameters
    ----------
    x : Values
        Size [row's unit].
    a : Values
        Constant of the line [1].
    b : Values
        Slope of the line [1].
    s : Values
        Standard deviation of ln m about the line [1].
    z : Values
        Standard deviations off the line [1].

    Returns
    -------
    Values
        m, mass of the empty machine [kg].
    """
    return np.exp(a + b * np.log(x) + s * z)


@formula(
    "m = m_0 + m_load",
    source="PRACTICE",
    clause="sum of masses",
    status="practice",
    valid={"m_0": "[0, inf)", "m_load": "[0, inf)"},
)
def full_mass(m_0: Values, *, m_load: Values) -> Values:
    """Mass of a machine with what it holds.

    Parameters
    ----------
    m_0 : Values
        Empty machine [kg].
    m_load : Values
        What it holds [kg].

    Returns
    -------
    Values
        m, mass of the full machine [kg].
    """
    return m_0 + m_load
