"""A robust mixed model: growth with size, and effects of build, duty and group pulled to zero as far as need be.

Each pass weighs the records by Tukey's bisquare of their residuals (a record beyond its reach has no weight at all, so
that no record moves the line without bound), takes one penalised step, and puts the spreads between builds, duties and
groups at what their effects show, with a prior that counts as a few levels. With all weights 1 and no prior the fixed
point is the restricted maximum likelihood of a linear mixed model; with no effects it is an M-estimate of regression.

Written here on numpy because nothing to hand does both: scikit-learn's Huber regressor pulls all coefficients by one
penalty and knows no groups, statsmodels' mixed model is not robust, and either takes minutes for a million records.

Sources: J. W. Tukey's bisquare as in P. J. Huber and E. M. Ronchetti, Robust Statistics, 2nd ed. (2009), section 4.8;
D. A. Harville, Maximum Likelihood Approaches to Variance Component Estimation, J. Am. Stat. Assoc. 72 (1977) 320-338.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.lines.factor import Factor
from evener.scoring.ratings.lines.growth import Growth
from evener.scoring.ratings.lines.least_squares import NotDetermined
from evener.scoring.ratings.lines.mixed_records import BISQUARE, Fit, Pooling, Records, design_of, residual_of
from evener.scoring.ratings.lines.weighted import NO_GROUPS, solve, weigh

Array = NDArray[np.float64]

HUBER = 1.345
MAD_TO_SD = 1.4826
LEAST_SPREAD = 1e-9
# With the scale of the weights settled after so many passes each one comes nearer; before, a few records can go round.
SCALE_PASSES = 8
# Fewer records of a maker than this may be slips of their own.
GROUP_RECORDS = 3
# A spread between levels this small is none, and keeps the penalty finite.
LEAST_BETWEEN = 1e-4


def fit(
    growth: Growth,
    records: Records,
    pooling: Pooling,
    *,
    start: Array | None = None,
    spread: float | None = None,
    ratio: Array | None = None,
    before: Fit | None = None,
) -> Fit:
    """Fit the model, from coefficients that wrong records have not pulled.

    Parameters
    ----------
    growth : how the response grows with size
    records : what is fitted
    pooling : priors and tolerances
    start : coefficients of the growth to begin from
    spread : spread to begin from; taken from the residuals when left out [ln of the unit]
    ratio : spread of each record's kind over the spread of all; 1 when left out [1]
    before : a fit in the same form to go on from, whose levels the records have too

    Raises
    ------
    NotDetermined
        If too few records keep a weight to determine the growth.
    """
    state = _begin(growth, records, pooling, start) if before is None else _go_on(before, records, pooling)
    state.ratio = np.ones(records.response.size) if ratio is None else ratio
    fixed = len(growth.names)
    scale = max(spread or _scale(state, 0.0), pooling.grain, LEAST_SPREAD)
    linear = growth.form != "straight"
    design = design_of(growth, records, state.coefficients)
    nonnegative = np.concatenate([growth.nonnegative, np.zeros(design.shape[1] - fixed, dtype=bool)])
    for state.passes in range(1, pooling.passes + 1):
        state.scale, state.weights = scale, _weights(state, scale)
        kept = state.weights > 0
        if np.count_nonzero(kept) <= fixed:
            raise NotDetermined(f"{np.count_nonzero(kept)} records do not determine {fixed} coefficients and a spread")
        if not linear:
            design[:, :fixed] = growth.columns(records.logs, state.coefficients)
        state.sums = weigh(design, state.residual, state.weights, records.codes, records.groups)
        before_between, before_spread = state.between, state.spread
        at, group_at = state.coefficients, state.group_effects
        for _ in range(2):
            penalty, state.group_penalty = _penalties(state, fixed)
            state.step = solve(state.sums, penalty, state.group_penalty, at, group_at, nonnegative)
            state.coefficients = np.concatenate(
                [growth.held(at[:fixed] + state.step.change[:fixed]), at[fixed:] + state.step.change[fixed:]]
            )
            state.group_effects = group_at + state.step.group_change
            state.between = _between(state, fixed)
        state.residual = residual_of(growth, records, state.coefficients, state.group_effects)
        state.spread = _spread(state)
        if state.passes <= SCALE_PASSES:
            scale = max(_scale(state, state.step.degrees), pooling.grain, LEAST_SPREAD)
        moved = np.concatenate([state.step.change, state.step.group_change, state.between - before_between])
        moved = np.append(moved, state.spread - before_spread)
        if np.abs(moved).max() <= pooling.tolerance * max(state.spread, pooling.grain, LEAST_SPREAD):
            break
    return state


def _begin(growth: Growth, records: Records, pooling: Pooling, start: Array | None) -> Fit:
    levels = sum(len(factor.names) for factor in records.factors)
    first = growth.start() if start is None else start
    coefficients = np.concatenate([first, np.zeros(levels)])
    residual = residual_of(growth, records, coefficients, np.zeros(records.groups))
    if start is None:
        coefficients[0] += float(np.median(residual))
        residual = residual - np.median(residual)
    at = first.size
    for factor in records.factors:
        coefficients[at : at + len(factor.names)] = _medians(factor, residual)
        residual = residual - factor.of(coefficients[at : at + len(factor.names)])
        at += len(factor.names)
    effects = np.zeros(records.groups)
    if records.group is not None:
        effects = _medians(records.group, residual)
        residual = residual - records.group.of(effects)
    return Fit(
        growth=growth,
        records=records,
        pooling=pooling,
        coefficients=coefficients,
        group_effects=effects,
        spread=max(MAD_TO_SD * float(np.median(np.abs(residual))), pooling.grain, LEAST_SPREAD),
        between=np.array(pooling.between, float),
        weights=np.ones(residual.size),
        residual=residual,
        ratio=np.ones(residual.size),
        counts=NO_GROUPS if records.group is None else records.group.counts,
    )


def _medians(factor: Factor, residual: Array) -> Array:
    """Return each level's median residual, drawn to zero: a whole level that is off would else have no weight left.

    A level of a record or two may be a slip or two: it begins from nothing.
    """
    if not factor.names:
        return np.zeros(0)
    order = np.lexsort((residual, factor.codes))
    counts = factor.counts
    first = np.count_nonzero(factor.codes < 0) + np.concatenate([[0], np.cumsum(counts)[:-1]])
    middle = residual[order[np.minimum(first + counts // 2, residual.size - 1)]]
    return np.where(counts >= GROUP_RECORDS, middle * counts / (counts + GROUP_RECORDS), 0.0)


def _go_on(before: Fit, records: Records, pooling: Pooling) -> Fit:
    residual = residual_of(before.growth, records, before.coefficients, before.group_effects)
    ones = np.ones(residual.size)
    counts = NO_GROUPS if records.group is None else records.group.counts
    return replace(before, records=records, pooling=pooling, residual=residual, counts=counts, weights=ones, ratio=ones)


def _freedom(n: int, degrees: float) -> float:
    return max(n - degrees, 1.0)


def _scale(state: Fit, degrees: float) -> float:
    """Return the spread by the median residual, which wrong records do not widen."""
    n = state.residual.size
    return MAD_TO_SD * float(np.median(np.abs(state.residual / state.ratio))) * math.sqrt(n / _freedom(n, degrees))


def _spread(state: Fit) -> float:
    """Return the root mean square residual of the records that keep a weight."""
    kept = state.weights > 0
    counts = (state.records.weights / state.ratio**2)[kept]
    n = int(np.count_nonzero(kept))
    square = float((counts * state.residual[kept] ** 2).sum()) / float(state.records.weights[kept].sum())
    return max(math.sqrt(square * n / _freedom(n, state.step.degrees)), state.pooling.grain, LEAST_SPREAD)


def _weights(state: Fit, scale: float) -> Array:
    counts = state.records.weights / state.ratio**2
    if math.isinf(state.pooling.reach):
        return np.asarray(counts)
    z = np.abs(state.residual) / (state.pooling.reach * scale * state.ratio)
    weights = np.where(z < 1, (1 - z**2) ** 2, 0.0)
    if state.records.sound is not None:
        vouched = np.minimum(1.0, HUBER / BISQUARE / np.maximum(z, LEAST_SPREAD))
        weights = np.where(state.records.sound, np.maximum(weights, vouched), weights)
    return np.asarray(counts * weights)


def _penalties(state: Fit, fixed: int) -> tuple[Array, Array]:
    """Return what pulls levels to zero: the residual variance over the variance between them."""
    factors = state.records.factors
    variance = state.spread**2
    parts = [np.zeros(fixed)]
    for factor, between in zip(factors, state.between, strict=False):
        parts.append(np.full(len(factor.names), variance / between**2))
    groups = np.empty(0)
    if state.records.group is not None:
        groups = variance / state.between[-1] ** 2 * _tails(state)
    return np.concatenate(parts), groups


def _tails(state: Fit) -> Array:
    """Return how much a group counts as one of the many: less, the further its effect is off (Student's t)."""
    freedom, between = state.pooling.group_freedom, state.between[-1]
    if math.isinf(freedom) or state.records.group is None:
        return np.ones(state.group_effects.size)
    inverse = state.step.group_inverse
    error = state.spread**2 * inverse if inverse.size else np.zeros(state.group_effects.size)
    tails = (freedom + 1) / (freedom + (state.group_effects**2 + error) / between**2)
    return np.where(state.counts >= GROUP_RECORDS, tails, 1.0)


def _between(state: Fit, fixed: int) -> Array:
    """Return the spreads between levels that their effects and errors show, the prior beside them."""
    variance, at, found = state.spread**2, fixed, []
    errors = variance * np.diag(state.step.inverse)
    for factor, prior in zip(state.records.factors, state.pooling.between, strict=False):
        end = at + len(factor.names)
        found.append(_pooled(state.coefficients[at:end] ** 2 + errors[at:end], prior, state.pooling.prior_levels))
        at = end
    if state.records.group is not None:
        squares = _tails(state) * (state.group_effects**2 + variance * state.step.group_inverse)
        found.append(_pooled(squares, state.pooling.between[-1], state.pooling.prior_levels))
    return np.array(found)


def _pooled(squares: Array, prior: float, levels: float) -> float:
    return max(math.sqrt((levels * prior**2 + float(squares.sum())) / (levels + squares.size)), LEAST_BETWEEN)
