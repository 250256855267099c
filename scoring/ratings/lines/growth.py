"""How ln P may grow with size: in proportion, as a straight line, as a power; each rising everywhere by its bounds.

With x the first size over its centre and s >= 0, b >= 0:

    proportional   ln P = a + ln x
    straight       ln P = a + ln((x + s) / (1 + s))
    power          ln P = a + b ln x

A second size adds c ln z, c >= 0, to each. A straight line that starts at zero power or above is `straight`; one that
starts below is a power above 1. All three are one scatter of ln P, so that they can be held against each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.lines.least_squares import NotDetermined

Array = NDArray[np.float64]
Form = Literal["proportional", "straight", "power"]

FORMS: tuple[Form, ...] = ("proportional", "straight", "power")
FORMULAS: Mapping[Form, str] = {
    "proportional": "ln P = a + ln x",
    "straight": "ln P = a + ln((x + s) / (1 + s))",
    "power": "ln P = a + b ln x",
}
# A line so flat that its start is this many centres below zero size is level.
FLATTEST = 50.0


@dataclass(frozen=True)
class Growth:
    """One way of growing with one size or two.

    Attributes
    ----------
    form : proportional, straight or power
    sizes : how many sizes, 0 for a level that does not grow [1]
    """

    form: Form
    sizes: int

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the coefficients, in order."""
        if not self.sizes:
            return ("a",)
        own = {"proportional": (), "straight": ("s",), "power": ("b",)}[self.form]
        return ("a", *own, *(("c",) if self.sizes > 1 else ()))

    @property
    def nonnegative(self) -> NDArray[np.bool_]:
        """Which coefficients may not fall below zero, so that nothing falls with size."""
        return np.array([name != "a" for name in self.names])

    def start(self) -> Array:
        """Return coefficients to begin from."""
        return np.array([{"a": 0.0, "s": 0.2, "b": 1.0, "c": 0.0}[name] for name in self.names])

    def value(self, logs: Array, coefficients: Array) -> Array:
        """Return what the coefficients give [ln of the unit].

        Parameters
        ----------
        logs : one row per record: ln of each size over its centre [1]
        coefficients : in the order of `names`
        """
        value = np.full(logs.shape[0], coefficients[0])
        if self.sizes:
            value = value + self._first(logs[:, 0], coefficients)
        if self.sizes > 1:
            value = value + coefficients[-1] * logs[:, 1]
        return value

    def columns(self, logs: Array, coefficients: Array) -> Array:
        """Return how the value changes with each coefficient, one row per record."""
        columns = [np.ones(logs.shape[0])]
        if self.sizes and self.form == "power":
            columns.append(logs[:, 0])
        elif self.sizes and self.form == "straight":
            s = coefficients[1]
            columns.append(1 / (np.exp(logs[:, 0]) + s) - 1 / (1 + s))
        if self.sizes > 1:
            columns.append(logs[:, 1])
        return np.column_stack(columns)

    def held(self, coefficients: Array) -> Array:
        """Return the coefficients within their bounds."""
        ends = np.array([{"a": np.inf, "s": FLATTEST, "b": np.inf, "c": np.inf}[name] for name in self.names])
        return np.asarray(np.minimum(coefficients, ends))

    def elasticity(self, first: Array, coefficients: Array) -> Array:
        """Return by how many per cent the value grows when the first size does by one [1].

        Parameters
        ----------
        first : ln of the first size over its centre [1]
        coefficients : in the order of `names`
        """
        if not self.sizes:
            return np.zeros_like(first)
        if self.form == "straight":
            return np.asarray(np.exp(first) / (np.exp(first) + coefficients[1]))
        return np.full_like(first, coefficients[1] if self.form == "power" else 1.0)

    def _first(self, first: Array, coefficients: Array) -> Array:
        if self.form == "power":
            return np.asarray(coefficients[1] * first)
        if self.form == "straight":
            s = coefficients[1]
            return np.asarray(np.log((np.exp(first) + s) / (1 + s)))
        return first


@dataclass(frozen=True)
class Choice:
    """The form the records support, and how each form did.

    Attributes
    ----------
    form : the simplest form whose error is within one standard error of the least
    errors : per form the mean miss of a record by the line fitted without it, in ln P [1]
    """

    form: Form
    errors: Mapping[Form, float]


def choose(misses: Mapping[Form, Array], weights: Array) -> Choice:
    """Choose the simplest form whose error is within one standard error, paired record by record, of the least.

    Parameters
    ----------
    misses : per form how far each record is from the line fitted without it [ln of the unit]
    weights : of each record; 0 where it is set aside [1]

    Raises
    ------
    NotDetermined
        If no form could be fitted.
    """
    if not misses:
        raise NotDetermined(f"{np.count_nonzero(weights)} records do not determine how it grows with size")
    share = weights / weights.sum()
    errors = {form: float((share * miss).sum()) for form, miss in misses.items()}
    best = min(errors, key=lambda form: errors[form])
    for form in errors:
        excess = misses[form] - misses[best]
        mean = float((share * excess).sum())
        error = float(np.sqrt((share * (excess - mean) ** 2).sum() / max(np.count_nonzero(weights) - 1, 1)))
        if mean <= error:
            return Choice(form, errors)
    return Choice(best, errors)
