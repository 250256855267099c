"""How big and how heavy bales are, dry or wet."""

from __future__ import annotations

import math

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "V = (pi / 4) d^2 h",
    source="HANDBOOK",
    clause="volume of a cylinder",
    status="memory",
    valid={"d": "(0, 3]", "h": "(0, 3]"},
    note="a published page prints pi / 6, which is the volume of a sphere",
    checks=("TABLE-BALE-TX",),
)
def round_volume(d: Values, *, h: Values) -> Values:
    """Volume of a round bale.

    Parameters
    ----------
    d : Values
        Diameter [m].
    h : Values
        Width of the bale along its axis [m].

    Returns
    -------
    Values
        V, volume [m3].
    """
    return math.pi / 4 * d**2 * h


@formula(
    "V = w h l",
    source="HANDBOOK",
    clause="volume of a box",
    status="memory",
    valid={"w": "(0, 3]", "h": "(0, 3]", "length": "(0, 4]"},
    checks=("TABLE-BALE-SQUARE",),
)
def square_volume(w: Values, *, h: Values, length: Values) -> Values:
    """Volume of a square bale.

    Parameters
    ----------
    w : Values
        Width [m].
    h : Values
        Height [m].
    length : Values
        Length, l in the equation [m].

    Returns
    -------
    Values
        V, volume [m3].
    """
    return w * h * length


@formula(
    "m = rho V",
    source="HANDBOOK",
    clause="density",
    status="memory",
    valid={"V": "[0, 30]", "rho": "(0, 1000]"},
    checks=("TABLE-BALE-TX",),
)
def bale_mass(V: Values, *, rho: Values) -> Values:
    """Mass of a bale.

    Parameters
    ----------
    V : Values
        Volume [m3].
    rho : Values
        Bulk density as baled [kg/m3].

    Returns
    -------
    Values
        m, mass [kg].
    """
    return rho * V


@formula(
    "m = m_dm / dm",
    source="HANDBOOK",
    clause="dry matter, wet basis",
    status="memory",
    valid={"m_dm": "[0, inf)", "dm": "(0, 1]"},
)
def mass_from_dry_matter(m_dm: Values, *, dm: Values) -> Values:
    """Mass as handled from the dry matter in it.

    Parameters
    ----------
    m_dm : Values
        Mass of dry matter [kg].
    dm : Values
        Dry matter content on wet basis [fraction].

    Returns
    -------
    Values
        m, mass as handled [kg].
    """
    return m_dm / dm


@formula(
    "m_dm = m dm",
    source="HANDBOOK",
    clause="dry matter, wet basis",
    status="memory",
    valid={"m": "[0, inf)", "dm": "(0, 1]"},
    checks=("TABLE-BIOBALE",),
)
def dry_matter(m: Values, *, dm: Values) -> Values:
    """Dry matter in a mass or a flow as handled.

    Parameters
    ----------
    m : Values
        Mass as handled [kg].
    dm : Values
        Dry matter content on wet basis [fraction].

    Returns
    -------
    Values
        m_dm, mass of dry matter [kg].
    """
    return m * dm


@formula(
    "m = n m_1",
    source="PRACTICE",
    clause="sum of equal masses",
    status="practice",
    valid={"n": "[0, inf)", "m_1": "[0, inf)"},
)
def bales_mass(n: Values, *, m_1: Values) -> Values:
    """Mass of a load of bales.

    Parameters
    ----------
    n : Values
        Number of bales [1].
    m_1 : Values
        Mass of one [kg].

    Returns
    -------
    Values
        m, mass of the load [kg].
    """
    return m_1 * n


@formula(
    "rho = m / V",
    source="HANDBOOK",
    clause="density",
    status="memory",
    valid={"m": "[0, inf)", "V": "(0, inf)"},
)
def bale_density(m: Values, *, V: Values) -> Values:
    """Bulk density of a bale.

    Parameters
    ----------
    m : Values
        Mass [kg].
    V : Values
        Volume [m3].

    Returns
    -------
    Values
        rho, bulk density [kg/m3].
    """
    return m / V
