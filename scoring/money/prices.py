"""What tractors and machines cost to buy: their own asking price, else the sheet's prices, else custom by size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evener.scoring.mechanics.work import cost, yearly_cost

if TYPE_CHECKING:
    from evener.schema.money import Money
    from evener.schema.records import Tractor
    from evener.scoring.core.setting import Library
    from evener.scoring.money.terms import Terms

NEW = "new tractor with loader"
SPARING = ("2wd",)
OLDEST_YR = 40.0


@dataclass(frozen=True)
class Price:
    """What one thing costs to buy.

    Attributes
    ----------
    amount : price taken
    low, high : what is usual; the amount itself where it is stated
    basis : stated, sheet or custom
    source, status : where it comes from
    """

    amount: float
    low: float
    high: float
    basis: str
    source: str
    status: str


@dataclass(frozen=True)
class Valued:
    """A tractor with what money knows of it.

    Attributes
    ----------
    tractor : the record
    price : what it costs to buy
    new : what one of its size costs new
    age_yr : years since it was made, 0 for a new one
    meter_h : hours it has run
    """

    tractor: Tractor
    price: Price
    new: Price
    age_yr: float
    meter_h: float


def priced(tractor: Tractor, library: Library, money: Money, terms: Terms) -> Valued:
    """Return what a tractor costs to buy, and what one like it costs new.

    Parameters
    ----------
    tractor : a record; its power at the PTO must be known
    library, money, terms : the tables, what the sheet says, and the terms
    """
    new = price_of_new(tractor.pto_power_kw or 0.0, tractor.drive, library, money, terms)
    age, meter = _age(tractor, terms), _meter(tractor, terms)
    if tractor.price is not None:
        stated = Price(tractor.price, tractor.price, tractor.price, "stated", tractor.source_id, tractor.status)
        return Valued(tractor, stated, new, age, meter)
    if age == 0.0 and meter == 0.0:
        return Valued(tractor, new, new, age, meter)
    left = remaining(tractor.pto_power_kw or 0.0, age=age, a_year=meter / max(age, 1.0), library=library)
    amount, low, high = (float(cost.salvage(each, RV=left)) for each in (new.amount, new.low, new.high))
    return Valued(tractor, Price(amount, low, high, new.basis, new.source, new.status), new, age, meter)


def price_of_new(kw: float, drive: str | None, library: Library, money: Money, terms: Terms) -> Price:
    """Return the price of a new tractor of a size.

    Parameters
    ----------
    kw : its power at the PTO [kW]
    drive : driven wheels
    library, money, terms : the tables, what the sheet says, and the terms
    """
    off = 1 - terms["off_for_2wd"] if drive in SPARING else 1.0
    if money.tractors:
        amount = off * between(kw, money.tractors)
        return Price(amount, amount, amount, "sheet", "customer", "customer")
    rows, scale = library.rows("prices", what=NEW), off * terms.exchange
    low, typical, high = (
        scale * between(kw, [(row["pto_kw"], row[column]) for row in rows]) for column in ("low", "typical", "high")
    )
    return Price(typical, low, high, "custom", rows[0]["source_id"], rows[0]["status"])


def between(size: float, known: Sequence[tuple[float, float]]) -> float:
    """Return a price at a size from prices at known sizes; one price alone goes in proportion to the size.

    Parameters
    ----------
    size : where it is wanted
    known : sizes with their prices
    """
    at = sorted(known)
    if len(at) == 1:
        at = [at[0], (2 * at[0][0], 2 * at[0][1])]
    upper = next((index for index, (known_size, _) in enumerate(at) if known_size >= size), len(at) - 1)
    (x_1, p_1), (x_2, p_2) = at[max(upper, 1) - 1 : max(upper, 1) + 1]
    return float(yearly_cost.price_by_size(size, x_1=x_1, P_1=p_1, x_2=x_2, P_2=p_2))


def remaining(kw: float, *, age: float, a_year: float, library: Library) -> float:
    """Return the share of its new price that a tractor is worth at an age [1].

    Parameters
    ----------
    kw : its power at the PTO [kW]
    age : its age; what is older than the equation reaches is taken at its end [yr]
    a_year : its mean use [h/yr]
    library : the tables
    """
    if age <= 0.0:
        return 1.0
    row = next(
        row
        for row in library.rows("costs", parameter_set="remaining_value", machine="farm tractor")
        if (row["pto_power_kw_min"] or 0.0) <= kw < (row["pto_power_kw_max"] or math.inf)
    )
    n = min(max(age, 1.0), OLDEST_YR)
    return float(cost.remaining_value(n, h=min(a_year, 3000.0), C_1=row["c1"], C_2=row["c2"], C_3=row["c3"]))


def _age(tractor: Tractor, terms: Terms) -> float:
    if tractor.model_year is not None:
        return max(0.0, terms["year_zero"] - tractor.model_year)
    # Hours without a year: as old as the usual use makes it.
    return (tractor.meter_hours_h or 0.0) / terms["hours_a_year"]


def _meter(tractor: Tractor, terms: Terms) -> float:
    if tractor.meter_hours_h is not None:
        return tractor.meter_hours_h
    return _age(tractor, terms) * terms["hours_a_year"]
