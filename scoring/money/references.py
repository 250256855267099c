"""The cheapest class that does a task, and the cheapest that does all: what work left undone is measured by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.money.yearly_work import YearlyTask


@dataclass(frozen=True)
class References:
    """What classes offer, draw by draw. A unit in a yard is never among them: one more changes nobody's cost.

    Attributes
    ----------
    ownership : by task, of the cheapest class that does it by itself, over the usual years; infinite where none does
        [money/yr]
    of_all : of the cheapest class that does all that comes and that no tractor there does; infinite where none does
    running_of_all : by task that is not listed, fuel and driver of that class [money/yr]
    """

    ownership: Mapping[str, Array]
    of_all: Array
    running_of_all: Mapping[str, Array]


def references(
    tasks: Sequence[YearlyTask],
    ownership: Array,
    usual: Array,
    does: Mapping[str, Sequence[Mask]],
    running: Mapping[str, Sequence[Array]],
    there: Mapping[str, Array],
) -> References:
    """Return the references of a job.

    Parameters
    ----------
    tasks : the work
    ownership, usual : of each class, over the years held and over the usual years [money/yr]
    does : by task, of each class, in the same order
    running : by task that is not listed, of each class
    there : by task, what the cheapest tractor that is there takes; infinite where none does it [money/yr]
    """
    alone, all_done = {}, np.ones(1, bool)
    for task in tasks:
        able = np.stack(list(does[task.name]))
        alone[task.name] = np.where(able, usual[:, None], np.inf).min(axis=0)
        all_done = all_done & (able | ~task.comes | np.isfinite(there[task.name]))
    dear = np.where(all_done, ownership[:, None], np.inf)
    cheapest = dear.argmin(axis=0)
    draw = np.arange(dear.shape[1])
    return References(
        alone,
        dear.min(axis=0),
        {name: np.stack(list(each))[cheapest, draw] for name, each in running.items()},
    )
