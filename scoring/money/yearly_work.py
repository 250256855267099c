"""The work of a place over a year: how much of each task there is, when it comes, and what doing or hiring it costs."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.mechanics.engine import fuel
from evener.scoring.mechanics.work import yearly_cost

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.core.trace import Trace
    from evener.scoring.money.hiring import Amounts, Charged
    from evener.scoring.money.terms import Terms


@dataclass(frozen=True)
class YearlyTask:
    """One task of the year.

    Attributes
    ----------
    name : of the task
    amounts : how much of it there is
    charged, hire : the rate it is hired at, and what that comes to [money/yr]
    comes : draws in which it is there: all of them for work of today
    years : share of the years held in which it is there [1]
    listed : whether the customer lists it for his tractor; plans, gaps and work that may be hired are worth their hire
    gap : whether nobody named it
    machine : its share of what a machine that is still to be bought for it costs [money/yr]
    for_hire : whether somebody can be hired for it; else it is done here, or not at all
    """

    name: str
    amounts: Amounts
    charged: Charged
    hire: Array
    comes: Mask
    years: float
    listed: bool
    gap: bool = False
    machine: float = 0.0
    for_hire: bool = True

    @cached_property
    def weight(self) -> Array:
        """Share of the years in which it is there, draw by draw [1]."""
        return np.where(self.comes, self.years, 0.0)


@dataclass(frozen=True)
class Done:
    """How one tractor does one task.

    Attributes
    ----------
    does : draws in which it does it
    hours : what it takes in a year at the speed it holds [h/yr]
    load : share of its PTO power that is used [1]
    fitted : what adapters between tractor and machine come to [money/yr]
    spent : what fuel, oil and driver come to, by what that rests on; filled by `running` [money/yr]
    """

    does: Mask
    hours: Array
    load: Array
    fitted: float = 0.0
    spent: dict[tuple[float, ...], Array] = field(default_factory=dict, init=False, compare=False, repr=False)


def litres_an_hour(done: Done, kw: float, trace: Trace, what: str = "") -> Array:
    """Return what a tractor burns at a task [L/h]."""
    return np.asarray(trace.call(fuel.diesel_at_load, what)(kw, X=np.clip(done.load, 0.0, 1.0)))


def running(done: Done, kw: float, terms: Terms, trace: Trace, what: str = "") -> Array:
    """Return what fuel, oil and the driver cost where a tractor does a task [money/yr].

    Parameters
    ----------
    done : how it does it
    kw : its power at the PTO [kW]
    terms, trace : the terms and the line of reasoning
    what : name of the task, for the steps
    """
    # Years held and interest change nothing here: where only those differ, it is worked out once.
    rests_on = (kw, terms["fuel_price"], terms["oil"], terms["wage"], terms["labour"])
    if trace.on or rests_on not in done.spent:
        diesel = litres_an_hour(done, kw, trace, what)
        burnt = trace.call(yearly_cost.fuel_and_oil, what)(done.hours, Q=diesel, p=terms["fuel_price"], k=terms["oil"])
        paid = trace.call(yearly_cost.driver, what)(done.hours, w=terms["wage"], k=terms["labour"])
        done.spent[rests_on] = np.asarray(burnt) + paid + done.fitted
    return done.spent[rests_on]
