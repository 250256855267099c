"""One shared Latin hypercube: 4096 joint draws of everything that is uncertain.

Every uncertain thing has a key ("task/top the pasture/stem_m"). Its 4096 strata are put in an order that depends on the
key and the seed alone: the order of tasks, rows and files never changes a draw, and a thing used twice is drawn once.
Nor does a task's name: what is not known of machines of one family on one place is drawn once for all their tasks.
"""

from __future__ import annotations

import zlib
from collections import Counter
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.records import Quantity, Task

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

N = 4096
SEED = 20
NORMAL_CUT = 3.0
ABOUT = 0.20


@lru_cache(maxsize=4)
def _normal_strata(n: int) -> Array:
    """Return the standard normal quantiles of the strata's middles, cut at three standard deviations [1]."""
    inverse = NormalDist().inv_cdf
    z = np.array([inverse((i + 0.5) / n) for i in range(n)])
    return np.asarray(np.clip(z, -NORMAL_CUT, NORMAL_CUT))


class Draws:
    """The shared set of draws of one job.

    Parameters
    ----------
    n : number of draws
    seed : another seed gives another, equally good set
    """

    def __init__(self, n: int = N, seed: int = SEED) -> None:
        self.n = n
        self.seed = seed
        self._orders: dict[str, NDArray[np.intp]] = {}
        self._families: dict[str, str] = {}
        self._plans: dict[str, str] = {}

    def for_tasks(self, tasks: Sequence[Task]) -> Draws:
        """Return these draws for the tasks of a job: the same whatever the tasks are called.

        Parameters
        ----------
        tasks : of the job; those of one family share what is drawn of their work, but each comes by its own chance
        """
        mine = Draws(self.n, self.seed)
        mine._orders = self._orders
        mine._families = {f"task/{task.name}/": f"task/{task.family}/" for task in tasks}
        numbers: Counter[str] = Counter()
        for task in sorted(tasks, key=lambda one: (one.family, one.land or "", one.name)):
            numbers[task.family] += 1
            mine._plans[task.name] = f"{task.family}/{numbers[task.family]}"
        return mine

    def _order(self, key: str) -> NDArray[np.intp]:
        named = max((one for one in self._families if key.startswith(one)), key=len, default="")
        key = self._families.get(named, "") + key[len(named) :]
        order = self._orders.get(key)
        if order is None:
            generator = np.random.Generator(np.random.PCG64([self.seed, zlib.crc32(key.encode()), len(key)]))
            order = self._orders[key] = generator.permutation(self.n)
        return order

    def uniform(self, key: str, low: float = 0.0, high: float = 1.0) -> Array:
        """Draw uniformly from low to high, in the unit of the bounds."""
        if low == high:
            return np.full(self.n, float(low))
        return low + (high - low) * (self._order(key) + 0.5) / self.n

    def normal(self, key: str, mean: float = 0.0, sd: float = 1.0) -> Array:
        """Draw from a normal distribution cut at three standard deviations, in the unit of mean and sd."""
        if sd == 0.0:
            return np.full(self.n, float(mean))
        return mean + sd * _normal_strata(self.n)[self._order(key)]

    def triangular(self, key: str, low: float, usual: float, high: float) -> Array:
        """Draw from a triangle with its top at the usual value, in the unit of the bounds."""
        if low == high:
            return np.full(self.n, float(low))
        u, span = self.uniform(key), high - low
        rising = low + np.sqrt(u * span * (usual - low))
        falling = high - np.sqrt((1 - u) * span * (high - usual))
        return np.asarray(np.where(u * span < usual - low, rising, falling))

    def published(self, key: str, value: float, range_pct: float | None) -> Array:
        """Draw a published value whose printed +-range is two standard deviations (DESIGN section 6), cut at three."""
        return self.normal(key, value, value * (range_pct or 0.0) / 200.0)

    def quantity(self, key: str, quantity: Quantity) -> Array:
        """Draw what a customer gave: exact, or uniform over its range ("about" carries +-20 % as its range).

        Raises
        ------
        ValueError
            If the quantity is unknown: a prior has to stand in first.
        """
        if quantity.low is None or quantity.high is None:
            raise ValueError(f"{key} is unknown: give it a prior before drawing it")
        return self.uniform(key, quantity.low, quantity.high)

    def choice(self, key: str, among: Sequence[str]) -> NDArray[np.intp]:
        """Draw the index of one of several words, each as likely."""
        return np.minimum((self.uniform(key) * len(among)).astype(np.intp), len(among) - 1)

    def happens(self, key: str, chance: float) -> Mask:
        """Draw whether a thing with this chance happens."""
        return self.uniform(key) < chance

    def comes(self, task: str, chance: float) -> Mask:
        """Return in which draws a task with a chance is done: the same ones for everybody who asks."""
        return self.happens(f"plan/{self._plans.get(task, task)}", chance)


def share(mask: Mask) -> float:
    """Return the share of draws in which something holds [1]."""
    return float(np.count_nonzero(mask)) / mask.size


def quantile(values: Array, p: float) -> float:
    """Return the smallest drawn value that at least a share p of the draws does not exceed, in the values' unit.

    The inverse of the empirical distribution: `quantile(v, p) <= x` says exactly that a share p of the draws is <= x.
    """
    return quantiles(values, p)[0]


def quantiles(values: Array, *ps: float) -> tuple[float, ...]:
    """Return several quantiles of the same draws, as `quantile` does, in the values' unit."""
    ranks = [min(max(int(np.ceil(p * values.size - 1e-9)) - 1, 0), values.size - 1) for p in ps]
    parted = np.partition(values, sorted(set(ranks)))
    return tuple(float(parted[rank]) for rank in ranks)


def median(values: Array | float) -> float:
    """Return the middle of the draws, the mean of the two middle ones where their number is even, in their unit."""
    drawn = np.ravel(np.asarray(values, float))
    low, high = (drawn.size - 1) // 2, drawn.size // 2
    parted = np.partition(drawn, (low, high))
    return float((parted[low] + parted[high]) / 2)
