"""How a number came about: formula, inputs with units, result, source and status, so that it can be redone by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from evener.scoring.draws import Array


@dataclass(frozen=True, slots=True)
class Figure:
    """A value, or its draws, with its unit."""

    drawn: Array | float | str
    unit: str

    @property
    def value(self) -> float | str:
        """The value itself, or the median of its draws."""
        return self.drawn if isinstance(self.drawn, str) else float(np.median(self.drawn))


@dataclass(frozen=True, slots=True)
class Step:
    """One published or practical rule applied once.

    Attributes
    ----------
    formula : the rule as printed, with the names of the inputs
    inputs : every input with its unit
    result : what came out, with its unit
    source : id in the table of sources
    status : published, memory, practice, invented or, for what the sheet says, customer
    """

    formula: str
    inputs: dict[str, Figure]
    result: Figure
    source: str
    status: str

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract: formula, inputs, result, unit, source, status."""
        return {
            "formula": self.formula,
            "inputs": {name: {"value": given.value, "unit": given.unit} for name, given in self.inputs.items()},
            "result": self.result.value,
            "unit": self.result.unit,
            "source": self.source,
            "status": self.status,
        }


def step(
    formula: str,
    inputs: Mapping[str, tuple[Array | float | str, str]],
    result: tuple[Array | float | str, str],
    *,
    source: str,
    status: str,
) -> Step:
    """Write one step down; inputs and result come as (value or draws, unit)."""
    named = {name: Figure(value, unit) for name, (value, unit) in inputs.items()}
    return Step(formula, named, Figure(*result), source, status)
