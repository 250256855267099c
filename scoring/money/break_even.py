"""Where two tractors cost the same: at which chance of a plan, and kept for how many years."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.money.costs import YearlyCost


def chance(task: str, one: YearlyCost, other: YearlyCost) -> float | None:
    """Return the chance of a task at which two tractors cost the same, None where one is cheaper at any [1].

    Parameters
    ----------
    task : a task that is not sure to come
    one, other : what the two cost
    """
    without = other.if_not[task] - one.if_not[task]
    with_it = other.if_comes[task] - one.if_comes[task]
    if without * with_it >= 0:
        return None
    return without / (without - with_it)


def years(more: Mapping[float, float]) -> float | None:
    """Return the first number of years held from which a difference in cost has the other sign, or None.

    Parameters
    ----------
    more : what the other tractor costs more than the one [money/yr], by years held, in their order
    """
    first, *rest = more.items()
    return next((kept for kept, each in rest if each * first[1] < 0), None)
