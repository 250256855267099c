"""The penalised weighted least-squares step that every fit of ratings is made of.

Minimises sum w (e - D d - g[group])^2 + penalties on the coefficients and on the group effects. Group effects may be
many; each meets only its own records, so they are eliminated first and the cost stays linear in records and groups.
The step works on residuals about the last coefficients: repeating it refines them to the last digit.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evener.scoring.ratings.lines.least_squares import NotDetermined

Array = NDArray[np.float64]
Codes = NDArray[np.intp]

NO_GROUPS: Codes = np.empty(0, dtype=np.intp)
LEAST_PIVOT = 1e-13


class Sums(NamedTuple):
    """The normal equations of some weighted records, in blocks: columns of the design, and groups.

    Attributes
    ----------
    cross : D'WD [columns by columns]
    right : D'We [columns]
    group_weight : sum of weights of each group [groups]
    group_cross : sum of w D of each group [groups by columns]
    group_right : sum of w e of each group [groups]
    """

    cross: Array
    right: Array
    group_weight: Array
    group_cross: Array
    group_right: Array


class Step(NamedTuple):
    """The change of the coefficients that solves the normal equations, and what the solution rests on.

    Attributes
    ----------
    change : of the columns' coefficients [response per column]
    group_change : of the group effects [response]
    inverse : the columns' block of the inverse of the normal equations [1]
    group_inverse : the diagonal of the groups' block of the inverse [1]
    degrees : effective number of coefficients, shrunken ones counting for a part [1]
    """

    change: Array
    group_change: Array
    inverse: Array
    group_inverse: Array
    degrees: float

    @staticmethod
    def nothing() -> Step:
        """Return the step of a fit that has not begun."""
        none = np.empty(0)
        return Step(none, none, np.empty((0, 0)), none, 0.0)


def weigh(design: Array, residual: Array, weights: Array, group: Codes = NO_GROUPS, groups: int = 0) -> Sums:
    """Return the normal equations of weighted records.

    Parameters
    ----------
    design : one row per record, one column per coefficient [as given]
    residual : observed value less what the present coefficients give [response]
    weights : of each record [1]
    group : number of each record's group, 0 to groups - 1, or -1 for none; empty where there are none [1]
    groups : how many groups there are [1]
    """
    weighted = design * weights[:, None]
    if not groups:
        none = np.empty(0)
        return Sums(weighted.T @ design, weighted.T @ residual, none, np.empty((0, design.shape[1])), none)
    # Records of no group are counted under one more, which is dropped.
    of = np.where(group < 0, groups, group)
    totals: list[Array] = [
        np.asarray(np.bincount(of, column, groups + 1)[:-1], dtype=float)
        for column in (weights, weights * residual, *weighted.T)
    ]
    return Sums(weighted.T @ design, weighted.T @ residual, totals[0], np.column_stack(totals[2:]), totals[1])


def solve(
    sums: Sums,
    penalty: Array | None = None,
    group_penalty: Array | None = None,
    at: Array | None = None,
    group_at: Array | None = None,
    nonnegative: NDArray[np.bool_] | None = None,
) -> Step:
    """Solve the normal equations for the change from the present coefficients.

    Parameters
    ----------
    sums : the normal equations
    penalty, group_penalty : added to the diagonal, pulling a coefficient towards zero; none when left out [1]
    at, group_at : the present coefficients, which the penalties and the bound speak of; zero when left out
    nonnegative : columns whose coefficient may not fall below zero; one that would is held at zero

    Raises
    ------
    NotDetermined
        If the columns are not independent.
    """
    columns, groups = sums.right.size, sums.group_right.size
    penalty = np.zeros(columns) if penalty is None else penalty
    group_penalty = np.zeros(groups) if group_penalty is None else group_penalty
    at = np.zeros(columns) if at is None else at
    group_at = np.zeros(groups) if group_at is None else group_at
    diagonal = sums.group_weight + group_penalty
    share = sums.group_cross / np.where(diagonal > 0, diagonal, 1.0)[:, None]
    matrix = sums.cross - sums.group_cross.T @ share
    matrix[np.diag_indices(columns)] += penalty
    pull = sums.group_right - group_penalty * group_at
    right = sums.right - penalty * at - share.T @ pull
    held = np.zeros(columns, dtype=bool)
    while True:
        change, inverse = _solved(matrix, right, held, -at)
        falls = np.zeros(columns, dtype=bool) if nonnegative is None else nonnegative & ~held & (at + change < 0)
        if not falls.any():
            break
        held |= falls
    group_change = np.divide(pull - sums.group_cross @ change, diagonal, out=np.zeros(groups), where=diagonal > 0)
    own = np.divide(1.0, diagonal, out=np.zeros(groups), where=diagonal > 0)
    group_inverse = own + np.einsum("gi,ij,gj->g", share, inverse, share)
    free = columns - np.count_nonzero(held) + groups
    degrees = free - float(penalty @ inverse.diagonal()) - float(group_penalty @ group_inverse)
    return Step(change, group_change, inverse, group_inverse, degrees)


def leverage(step: Step, sums: Sums, design: Array, weights: Array, group: Codes, group_penalty: Array) -> Array:
    """Return the pull of each record on its own fitted value [1].

    Parameters
    ----------
    step, sums : the solution and its normal equations
    design, weights, group : the records, as they were weighed
    group_penalty : of each group, as it was solved with [1]
    """
    about = without_groups(sums, design, group, group_penalty)
    own = np.einsum("ij,jk,ik->i", about, step.inverse, about)
    if sums.group_weight.size:
        diagonal = np.append(sums.group_weight + group_penalty, 0.0)
        own = own + np.divide(1.0, diagonal, out=np.zeros(diagonal.size), where=diagonal > 0)[group]
    return np.asarray(weights * own)


def without_groups(sums: Sums, design: Array, group: Codes, group_penalty: Array) -> Array:
    """Return the design less what the groups take up of it, as the normal equations have it once they are eliminated.

    Parameters
    ----------
    sums : the normal equations
    design, group : the records
    group_penalty : of each group, as it was solved with [1]
    """
    if not sums.group_weight.size:
        return design
    diagonal = sums.group_weight + group_penalty
    share = sums.group_cross / np.where(diagonal > 0, diagonal, np.inf)[:, None]
    return design - np.vstack([share, np.zeros(design.shape[1])])[group]


def _solved(matrix: Array, right: Array, held: NDArray[np.bool_], held_change: Array) -> tuple[Array, Array]:
    """Solve with some unknowns held, and return the solution and the inverse, zero where held."""
    if not held.any():
        inverse = _inverse(matrix)
        return inverse @ right, inverse
    free = np.flatnonzero(~held)
    change, inverse = np.where(held, held_change, 0.0), np.zeros_like(matrix)
    part = _inverse(matrix[np.ix_(free, free)])
    change[free] = part @ (right - matrix @ change)[free]
    inverse[np.ix_(free, free)] = part
    return change, inverse


def _inverse(matrix: Array) -> Array:
    length = np.sqrt(matrix.diagonal())
    if not (length > 0).all():
        raise NotDetermined("a column of the design is all zero")
    scaled = matrix / length / length[:, None]
    try:
        pivots = np.linalg.cholesky(scaled).diagonal()
    except np.linalg.LinAlgError:
        raise NotDetermined("the columns of the design are not independent") from None
    if pivots.min() ** 2 <= LEAST_PIVOT:
        raise NotDetermined("the columns of the design are not independent")
    return np.asarray(np.linalg.inv(scaled) / length / length[:, None])
