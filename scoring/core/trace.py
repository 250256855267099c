"""How a number came about: formula, inputs with units, result, source and status, so that it can be redone by hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.scoring.core.draws import median
from evener.scoring.mechanics.methods import METHODS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from evener.scoring.core.draws import Array


@dataclass(frozen=True, slots=True)
class Figure:
    """A value, or its draws, with its unit."""

    drawn: Array | float | str
    unit: str

    @property
    def value(self) -> float | str:
        """The value itself, or the median of its draws."""
        return self.drawn if isinstance(self.drawn, str) else median(self.drawn)


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
    method : id of the formula in the method table, where it is one of those
    """

    formula: str
    inputs: dict[str, Figure]
    result: Figure
    source: str
    status: str
    method: str | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract: formula, inputs, result, unit, source, status, and method if any."""
        named = {"method": self.method} if self.method else {}
        return named | {
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
    method: str | None = None,
) -> Step:
    """Write one step down; inputs and result come as (value or draws, unit), `method` names a formula it rests on."""
    named = {name: Figure(value, unit) for name, (value, unit) in inputs.items()}
    return Step(formula, named, Figure(*result), source, status, method)


def applied(
    formula_id: str,
    inputs: Mapping[str, tuple[Array | float | str, str]],
    result: tuple[Array | float | str, str],
    *,
    what: str = "",
    source: str | None = None,
    status: str | None = None,
) -> Step:
    """Write one use of a formula of the method table down, in the table's words.

    Parameters
    ----------
    formula_id : chapter and function, such as "draft.draft"
    inputs, result : as in `step`, named as in the equation
    what : what it is worked out for
    source, status : of the numbers that went in, where they are another table's than the formula's
    """
    method = METHODS[formula_id]
    named = {name: Figure(value, unit) for name, (value, unit) in inputs.items()}
    text = f"{what}: {method.equation}" if what else method.equation
    return Step(text, named, Figure(*result), source or method.source_id, status or method.status, formula_id)
