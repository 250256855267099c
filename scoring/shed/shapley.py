"""How a common cost is split: each member pays what he adds, on average over every order in which they might join.

Shapley (1953), A value for n-person games, Contributions to the Theory of Games II, 307-317. Up to ten members every
coalition is counted; beyond, orders are drawn, in pairs of an order and its reverse, and each share has its error.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

MOST_EXACT = 10
ORDERS = 2000
SEED = 20
Cost = Callable[[frozenset[int]], float]


@dataclass(frozen=True)
class Split:
    """Shares of a cost.

    Attributes
    ----------
    shares : what each member bears, in the unit of the cost
    errors : standard error of each; 0 where every order was counted
    """

    shares: tuple[float, ...]
    errors: tuple[float, ...]


def split(count: int, cost: Cost, *, orders: int = ORDERS) -> Split:
    """Split a cost among members.

    Parameters
    ----------
    count : how many members
    cost : cost of serving some of them; nothing for none
    orders : how many orders to draw where there are too many members to count all
    """
    return exact(count, cost) if count <= MOST_EXACT else sampled(count, cost, orders=orders)


def exact(count: int, cost: Cost) -> Split:
    """Split a cost by counting every coalition."""
    costs = {
        frozenset(some): cost(frozenset(some))
        for size in range(count + 1)
        for some in itertools.combinations(range(count), size)
    }
    shares = []
    for one in range(count):
        share = 0.0
        for some, without in costs.items():
            if one not in some:
                weight = math.factorial(len(some)) * math.factorial(count - len(some) - 1) / math.factorial(count)
                share += weight * (costs[some | {one}] - without)
        shares.append(share)
    return Split(tuple(shares), (0.0,) * count)


def sampled(count: int, cost: Cost, *, orders: int = ORDERS, seed: int = SEED) -> Split:
    """Split a cost over drawn orders, each with its reverse; the same orders every time."""
    generator = np.random.Generator(np.random.PCG64(seed))
    kept: dict[frozenset[int], float] = {}
    pairs = []
    for _ in range(max(2, orders // 2)):
        order = [int(one) for one in generator.permutation(count)]
        pairs.append((_added(order, cost, kept) + _added(order[::-1], cost, kept)) / 2)
    each = np.array(pairs)
    errors = each.std(axis=0, ddof=1) / math.sqrt(len(pairs))
    return Split(tuple(map(float, each.mean(axis=0))), tuple(map(float, errors)))


def _added(
    order: Sequence[int], cost: Cost, kept: dict[frozenset[int], float]
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return what each member adds when they join in an order."""
    added = np.zeros(len(order))
    joined: frozenset[int] = frozenset()
    before = 0.0
    for one in order:
        joined |= {one}
        if joined not in kept:
            kept[joined] = cost(joined)
        added[one] = kept[joined] - before
        before = kept[joined]
    return added
