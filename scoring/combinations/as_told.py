"""How surely a thing holds given what the customer can tell: among the draws in which he would tell about the same.

Whether a tractor keeps its stance with the load it will carry is one question; how large that load is, is another, and
the customer's to answer. So a share of all draws would refuse a tractor for loads nobody means to carry. Where nothing
of it is open, all draws count, as they do for what nobody can answer.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask

Places = NDArray[np.intp]

ALIKE = 16  # one draw in so many is told about the same
FEWEST = 40


def surely(holds: Mask, told: Array | None, share: float) -> Mask:
    """Return in which draws a thing holds in a share of those in which about the same is told; (tractors, draws or 1).

    Parameters
    ----------
    holds : the draws in which it holds; shape (tractors, draws or 1)
    told : what the customer can tell, in any unit that grows with it; None where nothing of it is open
    share : how surely it has to hold [1]
    """
    if told is None or holds.shape[1] != told.size:
        return np.asarray(np.count_nonzero(holds, axis=1) >= share * holds.shape[1] - 1e-9)[:, None]
    order, first, last = _alike(told)
    held = np.zeros((holds.shape[0], told.size + 1))
    np.cumsum(holds[:, order], axis=1, out=held[:, 1:])
    sure = np.empty(holds.shape, bool)
    sure[:, order] = held[:, last] - held[:, first] >= share * (last - first) - 1e-9
    return sure


def worst_as_told(ratios: Array, told: Array | None, share: float) -> Array:
    """Return what a ratio stays below in a share of the draws in which about the same is told; (draws,).

    Parameters
    ----------
    ratios : of one tractor; shape (draws,)
    told, share : as `surely` takes them
    """
    if told is None or np.isnan(ratios).any():
        return ratios
    order, first, last = _alike(told)
    sorted_by, found = ratios[order], np.empty_like(ratios)
    counts = last - first
    for count in np.unique(counts):
        at = np.flatnonzero(counts == count)
        rank = min(max(int(np.ceil(share * count - 1e-9)) - 1, 0), int(count) - 1)
        windows = sorted_by[first[at][:, None] + np.arange(count)]
        found[order[at]] = np.partition(windows, rank, axis=1)[:, rank]
    return found


def _alike(told: Array) -> tuple[Places, Places, Places]:
    """Return the draws in the order of what is told, and for each place there the first and last of those alike."""
    n = told.size
    half = min(max(n // ALIKE, FEWEST), n) // 2
    places = np.arange(n)
    return np.argsort(told, kind="stable"), np.maximum(places - half, 0), np.minimum(places + half + 1, n)
