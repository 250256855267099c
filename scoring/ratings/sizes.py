"""The sizes that ratings, masses and reaches go by, derived from others where they have to be."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evener.schema.certainty import is_unsure
from evener.schema.records import Family, Implement

Array = NDArray[np.float64]


def bale_volume_m3(bale_width_m: ArrayLike, bale_diameter_m: ArrayLike) -> Array:
    """Volume of a round bale, a cylinder of its width and diameter [m3].

    Parameters
    ----------
    bale_width_m : length of the cylinder [m]
    bale_diameter_m : diameter of the cylinder [m]
    """
    return np.asarray(math.pi / 4 * np.asarray(bale_diameter_m, float) ** 2 * np.asarray(bale_width_m, float))


def bale_section_m2(bale_height_m: ArrayLike, bale_width_m: ArrayLike) -> Array:
    """Cross-section of a square bale, which is the mouth of the chamber it is pressed in [m2].

    Parameters
    ----------
    bale_height_m : height of the section [m]
    bale_width_m : width of the section [m]
    """
    return np.asarray(np.asarray(bale_height_m, float) * np.asarray(bale_width_m, float))


DERIVED = {
    "bale_volume_m3": (bale_volume_m3, ("bale_width_m", "bale_diameter_m")),
    "bale_section_m2": (bale_section_m2, ("bale_height_m", "bale_width_m")),
}


def size_of(implement: Implement, variable: str) -> float | None:
    """Return the size of an implement on a fit variable, or None where the record does not state it.

    Parameters
    ----------
    implement : the record
    variable : a column of the record, or `bale_volume_m3` [m3] or `bale_section_m2` [m2]
    """
    if variable not in DERIVED:
        value: float | None = getattr(implement, variable)
        return value
    derive, columns = DERIVED[variable]
    measures = [getattr(implement, column) for column in columns]
    return None if None in measures else float(derive(*measures))


def is_rated(implement: Implement) -> bool:
    """Whether a record states a maker's PTO power of its own, rather than one estimated from something else."""
    return implement.rated_pto_power_kw is not None and not is_unsure(implement.estimated, "rated_pto_power_kw")


def variables_of(family: Family) -> tuple[str, ...]:
    """Return the names of the sizes a family's rating is fitted on, in the order of the coefficients."""
    return tuple(name for name in (family.first_variable, family.second_variable) if name)
