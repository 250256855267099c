"""What a task costs when it is hired: the custom rate of its family, a small place's markup, and the call-outs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.money import Rate
from evener.scoring.mechanics.work import yearly_cost

if TYPE_CHECKING:
    from evener.schema.money import Money
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Library
    from evener.scoring.core.trace import Trace
    from evener.scoring.money.terms import Terms

BY_THE_HOUR = "h"


@dataclass(frozen=True)
class Amounts:
    """How much of a task there is in a year, in everything that hire may be charged by; None where it is not known.

    Attributes
    ----------
    hours : at the usual speed [h/yr]
    times : how often somebody would come [1/yr]
    ha, bales, holes, days : the other measures, each a year
    """

    hours: Array
    times: float
    ha: Array | None = None
    bales: Array | None = None
    holes: Array | None = None
    days: Array | None = None

    def of(self, unit: str) -> Array | None:
        """Return the amount in the unit of a rate."""
        return {BY_THE_HOUR: self.hours, "ha": self.ha, "bale": self.bales, "hole": self.holes, "day": self.days}[unit]


@dataclass(frozen=True)
class Charged:
    """The rate a task is hired at.

    Attributes
    ----------
    rate : amount and unit
    source, status : where it comes from
    """

    rate: Rate
    source: str
    status: str


def rate(family: str, amounts: Amounts, library: Library, money: Money, terms: Terms) -> Charged:
    """Return the rate for a task: the sheet's, else the family's by what is known of the task, else a plain hour's.

    Parameters
    ----------
    family : family of its machine
    amounts : how much there is to do
    library, money, terms : the tables, what the sheet says, and the terms
    """
    own = money.hire.get(family)
    if own is not None and amounts.of(own.unit) is not None:
        return Charged(own, "customer", "customer")
    for row in sorted(library.rows("hire", family=family), key=lambda each: each["unit"] == BY_THE_HOUR):
        if amounts.of(row["unit"]) is not None:
            return Charged(Rate(row["typical"] * terms.exchange, row["unit"]), row["source_id"], row["status"])
    hour = terms.figures["hire_hour"]
    return Charged(Rate(hour.value, BY_THE_HOUR), hour.source, hour.status)


def hire(charged: Charged, amounts: Amounts, terms: Terms, trace: Trace) -> Array:
    """Return what a task costs in a year when it is hired [money/yr].

    Parameters
    ----------
    charged : the rate, in a unit that the amounts have
    amounts, terms, trace : how much there is to do, the terms, and the line of reasoning
    """
    amount = amounts.of(charged.rate.unit)
    return np.asarray(
        trace.call(yearly_cost.hired, "hired", charged.source, charged.status)(
            amounts.hours if amount is None else amount,
            r=charged.rate.amount,
            m=terms["hire_markup"],
            c=terms["call_out"],
            n=amounts.times,
        )
    )
