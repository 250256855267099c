"""The land that is left when what the tasks cover is taken off."""

from __future__ import annotations

from evener.scoring.mechanics.methods import formula
from evener.scoring.mechanics.quantities import Values


@formula(
    "A_left = A - A_covered",
    source="PRACTICE",
    clause="difference of areas",
    status="practice",
    valid={"A": "[0, inf)", "A_covered": "[0, inf)"},
)
def area_left(A: Values, *, A_covered: Values) -> Values:
    """Land of a use that no task covers.

    Parameters
    ----------
    A : Values
        Land of the use [ha].
    A_covered : Values
        Land that tasks cover [ha].

    Returns
    -------
    Values
        A_left, land left [ha].
    """
    return A - A_covered
