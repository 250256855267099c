"""The speed held where a tractor has less than the usual speed asks, and at least what the least useful one does."""

from __future__ import annotations

import numpy as np

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "v / v_u = v_0 + (1 - v_0) (C - F) / (D - F), from v_0 to 1",
    source="PRACTICE",
    clause="slowing down in the heavy going",
    status="practice",
    valid={"C": "[0, inf)", "F": "(-inf, inf)", "D": "(-inf, inf)", "v_0": "(0, 1]"},
    note="what is asked is taken to rise evenly from the least useful speed to the usual one",
)
def pace_held(C: Values, *, F: Values, D: Values, v_0: Values) -> Values:
    """Speed a tractor holds over the usual speed of the work.

    Parameters
    ----------
    C : Values
        What the tractor has, such as its power [row's unit].
    F : Values
        What is asked at the least useful speed, in the same unit [row's unit].
    D : Values
        What is asked at the usual speed, in the same unit; not less than at the least useful one [row's unit].
    v_0 : Values
        The least useful speed over the usual one [fraction].

    Returns
    -------
    Values
        v/v_u, speed held over the usual one; v_0 where the tractor has not even what that asks [fraction].
    """
    above = np.asarray(D) - F
    part = np.where(above > 0, (C - F) / np.where(above > 0, above, 1.0), np.where(np.asarray(C) >= D, 1.0, 0.0))
    return v_0 + (1 - v_0) * np.clip(part, 0.0, 1.0)
