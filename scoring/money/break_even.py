"""Where two tractors cost the same: at which chance of a plan, and kept for how many years."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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


def years(differences: Callable[[float], float], among: Sequence[float]) -> float | None:
    """Return the first of a row of years held from which a difference in cost has the other sign, or None.

    Parameters
    ----------
    differences : what the other tractor costs more than the one, by years held [money/yr]
    among : years, in their order
    """
    first = differences(among[0])
    return next((each for each in among[1:] if differences(each) * first < 0), None)
