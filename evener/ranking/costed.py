"""One tractor with its money, and the sizes beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.mechanics.work import yearly_cost as formulas

if TYPE_CHECKING:
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost

LADDER_STEP = 0.12
SAME_SIZE = 0.03
SURE = 0.995


@dataclass(frozen=True)
class Failing:
    """A task that a tractor does not do in some of the draws, and what is done instead.

    Attributes
    ----------
    task : its name
    share : of the draws in which it comes that neither it nor a tractor that is there does it
    listed : whether the customer lists it; other work is hired, or met by a change of size
    gap : whether nobody named it
    hire_a_year : what hiring all of it costs in a year
    """

    task: str
    share: float
    listed: bool
    gap: bool
    hire_a_year: float


@dataclass(frozen=True)
class Costed:
    """One tractor with its money.

    Attributes
    ----------
    tractor_id, label, pto_power, unit : as its record says
    price, price_basis : what it costs to buy: stated, the sheet's, or custom
    a_year : expected yearly cost with what is hired or left undone
    ownership, repair, running, hired, undone, changed, machines : its parts; they sum to it. `machines` are those still
        to be bought
    worst : what 95 % of the draws do not exceed in a year
    does_all : share of draws in which all that comes is done
    fit : 100 x the least yearly cost over its own
    fails : tasks that it does not always do, listed work first, the likeliest to fail first
    """

    tractor_id: str
    label: str
    pto_power: float | None
    unit: str
    price: float
    price_basis: str
    a_year: float
    ownership: float
    repair: float
    running: float
    hired: float
    undone: float
    changed: float
    machines: float
    worst: float
    does_all: float
    fit: float
    fails: tuple[Failing, ...]


def costed(one: YearlyCost, least: float, decision: Decision) -> Costed:
    """Return a tractor with its money.

    Parameters
    ----------
    one : what it costs
    least : the least cost among those it is compared with
    decision : the job with its money
    """
    tractor = one.valued.tractor
    by_name = {task.name: task for task in decision.work.tasks}
    failing = [(by_name[each.task], each.missed) for each in one.tasks if each.missed > 1 - SURE]
    failing.sort(key=lambda each: (each[0].gap, not each[0].listed, -each[1]))
    fails = [Failing(task.name, share, task.listed, task.gap, float(task.hire.mean())) for task, share in failing]
    return Costed(
        tractor_id=tractor.tractor_id,
        label=tractor.label,
        pto_power=tractor.pto_power_kw,
        unit="kW",
        price=one.valued.price.amount,
        price_basis=one.valued.price.basis,
        a_year=one.expected,
        ownership=one.ownership,
        repair=one.repair,
        running=one.running,
        hired=one.hired,
        undone=one.beyond,
        changed=one.changed,
        machines=one.machines,
        worst=one.worst,
        does_all=one.does_all,
        fit=float(formulas.fit(min(least, one.expected), C=one.expected)),
        fails=tuple(fails),
    )


def beside(found: Sequence[YearlyCost], pick: YearlyCost, *, larger: bool) -> YearlyCost | None:
    """Return the next size beside the pick: the next class, or among units for sale the next at least 12 % away."""
    own = pick.valued.tractor.pto_power_kw or 0.0
    step = SAME_SIZE if pick.valued.tractor.kind == "class" else LADDER_STEP
    ratio = [((one.valued.tractor.pto_power_kw or 0.0) / own, one) for one in found]
    other = [(each, one) for each, one in ratio if (each >= 1 + step if larger else each <= 1 - step)]
    if not other:
        return None
    nearest = min(each for each, _ in other) if larger else max(each for each, _ in other)
    return next(one for each, one in other if abs(each / nearest - 1) <= SAME_SIZE)
