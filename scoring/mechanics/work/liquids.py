"""Liquids heavier than water: what a full tank weighs, and what its density does to a nozzle."""

from __future__ import annotations

from typing import Final

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values

WATER: Final = 1000.0
"""Density of water [kg/m3]."""


@formula(
    "SG = rho / 1000",
    source="UNL-16",
    clause="table 1, specific gravity",
    status="published",
    valid={"rho": "[600, 2000]"},
    checks=("LIQ-01",),
)
def specific_gravity(rho: Values) -> Values:
    """Density of a liquid over that of water.

    Parameters
    ----------
    rho : Values
        Density [kg/m3].

    Returns
    -------
    Values
        SG, specific gravity [1].
    """
    return rho / WATER


@formula(
    "factor = sqrt(SG)",
    source="UNL-16",
    clause="table 1, conversion factor",
    status="published",
    valid={"SG": "[0.6, 2]"},
    checks=("LIQ-01", "LIQ-02"),
)
def nozzle_factor(SG: Values) -> Values:
    """Flow of water over flow of a liquid through the same nozzle at the same pressure.

    Parameters
    ----------
    SG : Values
        Specific gravity of the liquid [1].

    Returns
    -------
    Values
        Conversion factor [1].
    """
    return np.sqrt(SG)


@formula(
    "q_water = q sqrt(SG)",
    source="UNL-16",
    clause="example 1",
    status="published",
    valid={"q": "[0, inf)", "SG": "[0.6, 2]"},
    checks=("LIQ-02",),
)
def water_rate(q: Values, *, SG: Values) -> Values:
    """Water rate to set a sprayer by for a rate of a liquid.

    Parameters
    ----------
    q : Values
        Rate of the liquid [L/ha].
    SG : Values
        Specific gravity of the liquid [1].

    Returns
    -------
    Values
        q_water, the rate on a table for water [L/ha].
    """
    return q * nozzle_factor(SG)


@formula(
    "m = rho V / 1000",
    source="HANDBOOK",
    clause="density",
    status="memory",
    valid={"V": "[0, inf)", "rho": "[600, 2000]"},
)
def tank_mass(V: Values, *, rho: Values) -> Values:
    """Mass of a full tank's liquid.

    Parameters
    ----------
    V : Values
        Volume of the liquid [L].
    rho : Values
        Density [kg/m3].

    Returns
    -------
    Values
        m, mass of the liquid [kg].
    """
    return rho * V / 1000
