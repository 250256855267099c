"""How rated power may grow with size: through the origin, a straight line, a power law; and which the records support.

Ratings scatter by a share of themselves, not by so many kilowatts. The power law is fitted to ln P, where that is one
scatter for all sizes; the two lines are fitted to P divided by what a first power law gives for the size, which comes
to the same, so that least squares needs no further weights.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.least_squares import LeastSquares, NotDetermined, least_squares

Array = NDArray[np.float64]

# Relative deviations are cut here, at a factor of 5e21.
FURTHEST = 50.0


@dataclass(frozen=True)
class Sizes:
    """The sizes of some records of one family.

    Attributes
    ----------
    first : size on the family's first variable [its SI unit]
    second : size on its second variable, or None where it has none [its SI unit]
    """

    first: Array
    second: Array | None = None

    def __getitem__(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Sizes:
        """Return the sizes of some of the records."""
        return Sizes(self.first[which], None if self.second is None else self.second[which])

    def middle(self) -> Sizes:
        """Return the median size, as one record."""
        middle = None if self.second is None else np.atleast_1d(np.median(self.second))
        return Sizes(np.atleast_1d(np.median(self.first)), middle)


@dataclass(frozen=True)
class Form:
    """One way rated power grows with size.

    Attributes
    ----------
    name : through_origin, straight or power
    pilot : coefficients of the power law that ratings are divided by; without one they are divided by the first size
    """

    name: str
    pilot: tuple[float, ...] = ()

    def formula(self, sizes: int) -> str:
        """Return the formula with one size or with two."""
        return FORMULAS[self.name][sizes - 1]

    def design(self, sizes: Sizes) -> Array:
        """Return the columns that stand beside the coefficients [per record]."""
        if self.name == "power":
            return _logs(sizes)
        return self._columns(sizes) / self._unit(sizes)[:, None]

    def response(self, power_kw: Array, sizes: Sizes) -> Array:
        """Return what is fitted: ln P, or power per what a first power law gives [ln kW, or 1]."""
        return np.log(power_kw) if self.name == "power" else power_kw / self._unit(sizes)

    def power(self, response: Array, sizes: Sizes) -> Array:
        """Return the power that a fitted response stands for [kW]."""
        return np.exp(response) if self.name == "power" else response * self._unit(sizes)

    def slope(self, coefficients: Array, sizes: Sizes) -> Array:
        """Return how much power grows with the first size, at some sizes [kW per unit of the first size]."""
        if self.name == "power":
            return np.asarray(np.exp(_logs(sizes) @ coefficients) * coefficients[1] / sizes.first)
        if self.name == "through_origin":
            return np.asarray(self._columns(sizes) @ coefficients / sizes.first)
        return np.full_like(sizes.first, coefficients[1])

    def _columns(self, sizes: Sizes) -> Array:
        """Return the columns of a line in kilowatts."""
        if self.name == "through_origin":
            columns = [sizes.first] if sizes.second is None else [sizes.first, sizes.first * sizes.second]
        else:
            columns = [np.ones_like(sizes.first), sizes.first] + ([] if sizes.second is None else [sizes.second])
        return np.column_stack(columns)

    def _unit(self, sizes: Sizes) -> Array:
        """Return what the power at each size is divided by."""
        return np.asarray(np.exp(_logs(sizes) @ np.asarray(self.pilot))) if self.pilot else sizes.first

    def deviation(self, observed: Array, expected: Array) -> Array:
        """Return how far a response is from what is expected, in a scale on which a half and a double are as far.

        For the power law that is the difference of logarithms. For the two lines it is expected * ln(observed /
        expected): for small deviations the same as the difference, and the difference where a line has fallen to zero.
        """
        if self.name == "power":
            return observed - expected
        above = (expected > 0) & (observed > 0)
        ratio = np.where(above, observed, 1.0) / np.where(above, expected, 1.0)
        return np.where(above, expected * np.log(ratio), observed - expected)

    def deviated(self, expected: Array, deviation: Array) -> Array:
        """Return the response that lies a deviation from what is expected, the inverse of `deviation`."""
        if self.name == "power":
            return expected + deviation
        above = expected > 0
        base = np.where(above, expected, 1.0)
        # Where a line is all but zero its relative scatter is past any meaning, and would overflow.
        share = np.clip(np.where(above, deviation / base, 0.0), -FURTHEST, FURTHEST)
        return np.where(above, base * np.exp(share), expected + deviation)

    def per_log_power(self, response: Array) -> Array:
        """Return how much a response grows per unit of ln P, which turns a share of P into a step of the response."""
        return np.ones_like(response) if self.name == "power" else response

    def fit(self, power_kw: Array, sizes: Sizes) -> LeastSquares:
        """Fit the form to some records by ordinary least squares.

        Raises
        ------
        NotDetermined
            If there are too few records, or all are of one size.
        """
        return least_squares(self.design(sizes), self.response(power_kw, sizes))


def _logs(sizes: Sizes) -> Array:
    logs = [np.log(sizes.first)] + ([] if sizes.second is None else [np.log(sizes.second)])
    return np.column_stack([np.ones_like(sizes.first), *logs])


FORMULAS = {
    "through_origin": ("P = b x1", "P = b1 x1 + b2 x1 x2"),
    "straight": ("P = a + b x1", "P = a + b1 x1 + b2 x2"),
    "power": ("ln P = a + b ln x1", "ln P = a + b1 ln x1 + b2 ln x2"),
}
FORMS: Mapping[str, Form] = {name: Form(name) for name in FORMULAS}


def forms_for(power_kw: Array, sizes: Sizes) -> dict[str, Form]:
    """Return the forms with some records' own power law to divide by, in the order from the simplest.

    Parameters
    ----------
    power_kw : rated PTO power of each record [kW]
    sizes : their sizes
    """
    try:
        pilot = tuple(FORMS["power"].fit(power_kw, sizes).coefficients.tolist())
    except NotDetermined:
        pilot = ()
    return {name: Form(name, () if name == "power" else pilot) for name in FORMULAS}


@dataclass(frozen=True)
class Choice:
    """The form the records support best, and how each form did.

    Attributes
    ----------
    form : the simplest form whose error is within one standard error of the best
    errors : per form the typical miss of a record by the line fitted without it, as a share of its rating [1]; infinite
        where a line falls to zero or below at a record, or cannot be fitted
    """

    form: Form
    errors: Mapping[str, float]


def choose(power_kw: Array, sizes: Sizes) -> Choice:
    """Choose the form by leave-one-out cross-validation.

    The error is the mean of |ln(rating / prediction without it)|: the same share counts the same on a small and on a
    large machine, and a few wrong records do not settle the choice. Of the forms within one standard error (paired,
    record by record) of the best, the first in the order through origin, straight, power is taken.

    Parameters
    ----------
    power_kw : rated PTO power of each record [kW]
    sizes : their sizes

    Raises
    ------
    NotDetermined
        If no form can be fitted: too few records.
    """
    forms = forms_for(power_kw, sizes)
    misses = {name: _left_out(form, power_kw, sizes) for name, form in forms.items()}
    means = {name: float(miss.mean()) for name, miss in misses.items()}
    best = min(means, key=lambda name: means[name])
    if not np.isfinite(means[best]):
        raise NotDetermined(f"{power_kw.size} records do not determine how power grows with size")
    for name in forms:
        if np.isfinite(means[name]):
            excess = misses[name] - misses[best]
            if float(excess.mean()) <= float(excess.std(ddof=1)) / np.sqrt(excess.size):
                break
    return Choice(forms[name], {key: float(np.expm1(mean)) for key, mean in means.items()})


def _left_out(form: Form, power_kw: Array, sizes: Sizes) -> Array:
    try:
        fit = form.fit(power_kw, sizes)
    except NotDetermined:
        return np.full(power_kw.size, np.inf)
    without = form.power(fit.response - fit.deleted_residuals, sizes)
    usable = without > 0
    ratio = np.where(usable, power_kw / np.where(usable, without, 1.0), np.inf)
    return np.abs(np.log(ratio))
