"""The rising values nearest to a list of values, by least squares: neighbours that fall are pooled to their mean."""

from __future__ import annotations

from collections.abc import Sequence


def rising(values: Sequence[float]) -> list[float]:
    """Return values that never fall, as near to these as can be.

    Parameters
    ----------
    values : in the order in which they are to rise
    """
    pools: list[tuple[float, int]] = []
    for value in values:
        mean, count = float(value), 1
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), many + count
        pools.append((mean, count))
    return [mean for mean, count in pools for _ in range(count)]
