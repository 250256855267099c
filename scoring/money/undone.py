"""What it costs that a tractor does not do all: hired and gone without, or changed for another size, the cheaper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.mechanics.work import yearly_cost

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.money.references import References
    from evener.scoring.money.terms import Terms
    from evener.scoring.money.yearly_work import YearlyTask


@dataclass(frozen=True)
class Undone:
    """What work a tractor does not do costs, draw by draw [money/yr].

    Attributes
    ----------
    hired : by task, where it is hired
    beyond : what listed work left undone is worth beyond that: the largest difference in tractors counts once, and what
        the machines that are not bought would have cost; and what the hire of work would be that nobody is hired for
    changed : the tractor changed for another size; zero in draws where that is not the cheaper
    """

    hired: Mapping[str, Array]
    beyond: Array
    changed: Array

    @property
    def total(self) -> Array:
        """All of it [money/yr]."""
        return np.asarray(sum(self.hired.values(), self.beyond + self.changed))


def undone(
    tasks: Sequence[YearlyTask],
    missed: Mapping[str, Mask],
    *,
    price: float,
    owned: float,
    usual: float,
    references: References,
    terms: Terms,
) -> Undone:
    """Return what the work that a tractor does not do costs, in each draw by the cheaper way.

    Parameters
    ----------
    tasks : the work
    missed : by task, draws in which it comes and neither this tractor nor one that is there does it
    price, owned, usual : of the tractor, its yearly ownership over the years held, and over the usual ones [money],
        [money/yr]
    references, terms : what classes offer, and the terms
    """
    hired = {task.name: missed[task.name] * task.years * task.hire for task in tasks}
    beyond = np.zeros_like(references.of_all)
    for task in tasks:
        if task.listed and missed[task.name].any():
            beyond = np.maximum(beyond, missed[task.name] * _beyond(task, usual, references, terms))
    # Who lists work would buy its machine too, so that the work is worth that machine's year beside the tractor's.
    for task in tasks:
        if task.listed and task.machine:
            beyond = beyond + task.machine * (missed[task.name] & np.isfinite(references.ownership[task.name]))
    # Only unlisted work is worth a change of size: who lists work and buys too small would not do so to save.
    unlisted = [task for task in tasks if not task.listed]
    if not any(missed[task.name].any() for task in unlisted):
        return _parted(tasks, hired, beyond, np.zeros_like(beyond))
    any_missed = np.logical_or.reduce([missed[task.name] for task in unlisted])
    can = any_missed & np.isfinite(references.of_all)
    spread = yearly_cost.change_of_size(
        price,
        s=terms["size_change"],
        c=terms["lost_season"],
        N=terms["years"],
        y=np.max([missed[task.name] * task.years for task in unlisted], axis=0),
        O_r=np.where(can, references.of_all, 0.0),
        O_t=owned,
    )
    taken_over = (missed[task.name] * task.years * references.running_of_all[task.name] for task in unlisted)
    changed = sum(taken_over, np.asarray(spread))
    change = can & (changed < sum(hired[task.name] for task in unlisted))
    hired |= {task.name: np.where(change, 0.0, hired[task.name]) for task in unlisted}
    return _parted(tasks, hired, beyond, np.where(change, changed, 0.0))


def _parted(tasks: Sequence[YearlyTask], hired: Mapping[str, Array], beyond: Array, changed: Array) -> Undone:
    """Return what is hired apart from work that nobody is hired for: that is worth its hire, and is not done."""
    gone = [task.name for task in tasks if not task.for_hire]
    return Undone(
        {name: np.zeros_like(each) if name in gone else each for name, each in hired.items()},
        np.asarray(sum((hired[name] for name in gone), beyond)),
        changed,
    )


def _beyond(task: YearlyTask, usual: float, references: References, terms: Terms) -> Array:
    """Return what one task is worth beyond its hire; nothing where no class does it."""
    of_class = references.ownership[task.name]
    known = np.isfinite(of_class)
    return np.asarray(
        yearly_cost.undone_beyond_hire(np.where(known, of_class, 0.0), O_t=usual, H=task.hire, k=terms["undone_worth"])
    )
