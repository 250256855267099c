"""What a mixed model is fitted to, how its levels are pooled, and what it comes out as."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.lines.factor import Factor
from evener.scoring.ratings.lines.growth import Growth
from evener.scoring.ratings.lines.weighted import NO_GROUPS, Step, Sums, leverage, weigh, without_groups

Array = NDArray[np.float64]

# 95 % as efficient as least squares where nothing is wrong.
BISQUARE = 4.685
# A record that alone determines a coefficient is left out of nothing.
ALONE = 1e-9


@dataclass(frozen=True)
class Pooling:
    """How strongly levels are pulled together, and when the fit is done.

    Attributes
    ----------
    between : spread between the levels of each factor that is expected beforehand, groups last [ln of the unit]
    prior_levels : on how many levels that counts as seen; 0 lets the records alone say it [1]
    group_freedom : Student's degrees of freedom of group effects; infinite for normal ones [1]
    grain : least spread of single machines that is believed [ln of the unit]
    reach : residuals beyond so many spreads have no weight; infinite for least squares [1]
    tolerance : the fit is done when nothing moves by more than so many spreads [1]
    passes : at most so many [1]
    """

    between: tuple[float, ...] = ()
    prior_levels: float = 0.0
    group_freedom: float = math.inf
    grain: float = 0.0
    reach: float = BISQUARE
    tolerance: float = 2e-3
    passes: int = 40


@dataclass(frozen=True)
class Records:
    """What is fitted: sizes, the response, and the levels each record is of.

    Attributes
    ----------
    logs : one row per record: ln of each size over its centre [1]
    response : ln of power, mass or reach [ln of the unit]
    weights : how much each record counts beforehand [1]
    factors : build, duty; few levels each
    group : maker, owner or file; any number of levels
    sound : records an analyst vouches for: however far off, they keep some weight
    """

    logs: Array
    response: Array
    weights: Array
    factors: tuple[Factor, ...] = ()
    group: Factor | None = None
    sound: NDArray[np.bool_] | None = None

    @property
    def codes(self) -> NDArray[np.intp]:
        """Number of each record's group."""
        return NO_GROUPS if self.group is None else self.group.codes

    @property
    def groups(self) -> int:
        """How many groups there are [1]."""
        return 0 if self.group is None else len(self.group.names)


@dataclass
class Fit:
    """A fitted mixed model, and what it says of each record.

    Attributes
    ----------
    coefficients : of the growth, then of each factor's levels [ln of the unit]
    group_effects : of each group [ln of the unit]
    spread : residual standard deviation of single machines [ln of the unit]
    scale : spread that the weights of the last step were taken by [ln of the unit]
    between : spread between the levels of each factor, groups last [ln of the unit]
    weights : of each record in the last step; 0 where it is set aside [1]
    residual : observed less fitted, effects included [ln of the unit]
    ratio : spread of each record's kind over the spread of all [1]
    counts : records of each group [1]
    passes : how many it took [1]
    """

    growth: Growth
    records: Records
    pooling: Pooling
    coefficients: Array
    group_effects: Array
    spread: float
    between: Array
    weights: Array
    residual: Array
    ratio: Array
    counts: NDArray[np.intp]
    scale: float = 0.0
    passes: int = 0
    sums: Sums = field(repr=False, default_factory=lambda: weigh(np.empty((0, 1)), np.empty(0), np.empty(0)))
    step: Step = field(repr=False, default_factory=Step.nothing)
    group_penalty: Array = field(repr=False, default_factory=lambda: np.empty(0))

    @property
    def covariance(self) -> Array:
        """Covariance of `coefficients` [ln of the unit, squared]."""
        return self.spread**2 * self.step.inverse

    @property
    def group_errors(self) -> Array:
        """Standard error of each group's effect [ln of the unit]."""
        return np.asarray(self.spread * np.sqrt(self.step.group_inverse))

    def leverage(self, weights: Array | None = None) -> Array:
        """Return the pull of each record on its own fitted value [1].

        Parameters
        ----------
        weights : as if the records had these; their own when left out [1]
        """
        own = self.weights if weights is None else weights
        design = design_of(self.growth, self.records, self.coefficients)
        return leverage(self.step, self.sums, design, own, self.records.codes, self.group_penalty)

    def left_out(self) -> Array:
        """Return how far each record is from the model fitted without it, at the same spreads [ln of the unit]."""
        return np.asarray(self.residual / np.maximum(1.0 - self.leverage(), ALONE))

    def moves(self) -> tuple[Array, Array]:
        """Return what each record does to the growth with size: how far it moves it, at its own size and in all.

        Returns
        -------
        moved : growth at the record's size, less what it would be without the record [ln of the unit]
        distance : Cook's distance of the growth's coefficients [1]
        """
        fixed = len(self.growth.names)
        design = design_of(self.growth, self.records, self.coefficients)
        about = without_groups(self.sums, design, self.records.codes, self.group_penalty)
        change = about @ self.step.inverse[:, :fixed] * (self.weights * self.left_out())[:, None]
        free = np.flatnonzero(np.diag(self.step.inverse)[:fixed] > 0)
        own = np.linalg.inv(self.covariance[np.ix_(free, free)])
        distance = np.einsum("ij,jk,ik->i", change[:, free], own, change[:, free]) / free.size
        return np.asarray((design[:, :fixed] * change).sum(axis=1)), np.asarray(distance)

    def of_factors(self) -> Array:
        """Return the part of each record's value that is its build's, duty's and group's [ln of the unit]."""
        fixed = len(self.growth.names)
        return effects_of(self.records, self.coefficients[fixed:], self.group_effects)


def design_of(growth: Growth, records: Records, coefficients: Array) -> Array:
    """Return the columns beside the coefficients: of the growth, then one per level of each factor."""
    columns = growth.columns(records.logs, coefficients[: len(growth.names)])
    return np.column_stack([columns, *(factor.indicators() for factor in records.factors)])


def effects_of(records: Records, levels: Array, group_effects: Array) -> Array:
    """Return what each record's levels and group add to its value [ln of the unit]."""
    value, at = np.zeros(records.response.size), 0
    for factor in records.factors:
        value += factor.of(levels[at : at + len(factor.names)])
        at += len(factor.names)
    return value if records.group is None else value + records.group.of(group_effects)


def residual_of(growth: Growth, records: Records, coefficients: Array, group_effects: Array) -> Array:
    """Return observed less fitted, levels and group included [ln of the unit]."""
    fixed = len(growth.names)
    grown = growth.value(records.logs, coefficients[:fixed])
    return records.response - grown - effects_of(records, coefficients[fixed:], group_effects)
