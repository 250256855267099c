"""One estimate of the PTO power a task asks, as it goes with the mass of the tractor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.trace import Step

Line = tuple["Array", "Array"]


@dataclass(frozen=True)
class Estimate:
    """One estimate of the PTO power a task asks, alpha + beta * tractor mass.

    Attributes
    ----------
    basis : rated, fitted or computed
    alpha : draws [kW]
    beta : draws [kW/kg]
    steps : how it came about, in the middle case
    notes : what a reader should know of it
    easy : alpha and beta of the level in easy going, which is met whatever the speed
    steady : what of it the shaft takes whatever the speed, draws [kW]
    """

    basis: str
    alpha: Array
    beta: Array
    steps: tuple[Step, ...]
    notes: tuple[str, ...] = ()
    easy: Line | None = None
    steady: Array | float = 0.0
