"""Loose material in a bucket, a hopper or a box."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "m = rho V f",
    source="HANDBOOK",
    clause="density",
    status="memory",
    valid={"V": "[0, inf)", "rho": "(0, 3000]", "f": "(0, 1.5]"},
)
def heap_mass(V: Values, *, rho: Values, f: Values = 1.0) -> Values:
    """Mass of loose material in a container.

    Parameters
    ----------
    V : Values
        Volume of the container, struck level [m3].
    rho : Values
        Bulk density as it lies (material_density.csv) [kg/m3].
    f : Values
        How full it is; above 1 when heaped [fraction].

    Returns
    -------
    Values
        m, mass of the material [kg].
    """
    return rho * V * f


@formula(
    "V = m / rho",
    source="HANDBOOK",
    clause="density, solved for the volume",
    status="memory",
    valid={"m": "[0, inf)", "rho": "(0, 3000]"},
)
def heap_volume(m: Values, *, rho: Values) -> Values:
    """Volume of a mass of loose material.

    Parameters
    ----------
    m : Values
        Mass [kg].
    rho : Values
        Bulk density as it lies [kg/m3].

    Returns
    -------
    Values
        V, volume [m3].
    """
    return m / rho
