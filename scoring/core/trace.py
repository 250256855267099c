"""How a number came about: formula, inputs with units, result, source and status, so that it can be redone by hand."""

from __future__ import annotations

import inspect
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from evener.scoring.core.draws import median
from evener.scoring.mechanics.methods import METHODS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from evener.scoring.core.draws import Array


P = ParamSpec("P")
R = TypeVar("R")


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


class Trace:
    """The steps of one line of reasoning, in the order in which they ran; written only where somebody asked for them.

    Parameters
    ----------
    on : whether steps are written; without, a call only computes
    """

    __slots__ = ("_steps", "on")

    def __init__(self, *, on: bool) -> None:
        self.on = on
        self._steps: list[Step] = []

    @property
    def steps(self) -> tuple[Step, ...]:
        """What was written so far."""
        return tuple(self._steps)

    def follow(self, steps: Iterable[Step]) -> None:
        """Write steps of another line of reasoning that this one goes on from."""
        if self.on:
            self._steps += steps

    def given(self, text: str, value: Array | float | str, unit: str, *, source: str, status: str) -> None:
        """Write down a figure that is stated or taken, not worked out.

        Parameters
        ----------
        text : what it is, in words
        value, unit : the figure or its draws, and its unit
        source, status : where it comes from
        """
        if self.on:
            self._steps.append(Step(text, {}, Figure(value, unit), source, status))

    def call(
        self,
        formula: Callable[P, R],
        what: str = "",
        /,
        source: str | None = None,
        status: str | None = None,
    ) -> Callable[P, R]:
        """Return a formula of the method table that computes and writes its step at once.

        `trace.call(bales.bale_mass, "mass of one bale")(volume, rho=density)`: inputs take the names and units of the
        formula's own arguments.

        Parameters
        ----------
        formula : a registered formula
        what : what it is worked out for
        source, status : of the numbers that go in, where they are another table's than the formula's
        """
        if not self.on:
            return formula

        def traced(*args: P.args, **kwargs: P.kwargs) -> R:
            result = formula(*args, **kwargs)
            method = METHODS[formula.formula_id]  # type: ignore[attr-defined]
            names, units, unit = _arguments(method.formula_id)
            given = dict(zip(names, args, strict=False)) | kwargs
            inputs = {name: Figure(value, units.get(name, "1")) for name, value in given.items()}  # type: ignore[arg-type]
            text = f"{what}: {method.equation}" if what else method.equation
            self._steps.append(
                Step(
                    text,
                    inputs,
                    Figure(result, unit),  # type: ignore[arg-type]
                    source or method.source_id,
                    status or method.status,
                    method.formula_id,
                )
            )
            return result

        return traced


@lru_cache(maxsize=512)
def _arguments(formula_id: str) -> tuple[tuple[str, ...], Mapping[str, str], str]:
    """Return a formula's argument names, their units, and the unit of its result."""
    method = METHODS[formula_id]
    names = tuple(inspect.signature(inspect.unwrap(method.function)).parameters)
    units = {name: "1" if unit == "fraction" else unit for name, unit in method.units.items()}
    return names, units, next(iter(method.result_units.values()), "1")
