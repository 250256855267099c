"""A size that is named beside the pick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.records import Tractor


@dataclass(frozen=True)
class Size:
    """A size that comes out under other circumstances."""

    tractor_id: str
    pto_power: float | None
    unit: str


def size_of(tractor: Tractor) -> Size:
    """Return the size of a tractor."""
    return Size(tractor.tractor_id, tractor.pto_power_kw, "kW")
