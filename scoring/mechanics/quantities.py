"""What the formulas take and give: SI floats or arrays of them, and the one constant of nature among them."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Values = float | NDArray[np.float64]

GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s2]."""


def centimetres(metres: Values) -> Values:
    """Return a length in metres as centimetres."""
    return metres * 100


def from_percent(percent: float) -> float:
    """Return a share printed in per cent as a fraction."""
    return percent / 100


def cubic_metres(litres: Values) -> Values:
    """Return a volume in litres as cubic metres."""
    return litres / 1000
