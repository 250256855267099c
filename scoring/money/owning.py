"""What tractors cost to own and to keep in repair, each at the hours it works in a year."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.mechanics.work import cost
from evener.scoring.money.prices import SPARING, remaining

if TYPE_CHECKING:
    from evener.scoring.core.setting import Library
    from evener.scoring.core.trace import Trace
    from evener.scoring.money.prices import Valued
    from evener.scoring.money.terms import Terms

_REPAIRED_AS = {True: "tractor, 2WD", False: "tractor, 4WD and crawler"}


def ownership(one: Valued, hours: float, library: Library, terms: Terms, trace: Trace) -> float:
    """Return depreciation, interest, taxes, insurance and housing of one tractor [money/yr].

    Parameters
    ----------
    one : the tractor with its price
    hours : hours of the place's work in a year, done by it or not: going without wears no value back on [h/yr]
    library, terms, trace : the tables, the terms and the line of reasoning
    """
    years, kw = terms["years"], one.tractor.pto_power_kw or 0.0
    age = one.age_yr + years
    left = remaining(kw, age=age, a_year=(one.meter_h + hours * years) / max(age, 1.0), library=library)
    price, interest = one.price.amount, terms["interest"]
    sold = min(price, float(trace.call(cost.salvage, "value at the end")(one.new.amount, RV=left)))
    factor = trace.call(cost.capital_recovery_factor)(interest, n=years)
    capital = trace.call(cost.capital_recovery)(price, S=sold, CRF=factor, i=interest)
    kept = trace.call(cost.taxes_insurance_housing)(price, S=sold, k=terms["kept"])
    return float(capital) + float(kept)


def repair(one: Valued, hours: float, library: Library, terms: Terms, trace: Trace) -> float:
    """Return repair and maintenance of one tractor, the mean over the years held [money/yr].

    Parameters
    ----------
    one : the tractor with its price
    hours : hours it works in a year [h/yr]
    library, terms, trace : the tables, the terms and the line of reasoning
    """
    row = library.row("costs", parameter_set="repair_maintenance", machine=_REPAIRED_AS[one.tractor.drive in SPARING])
    at_end = one.meter_h + hours * terms["years"]
    whole = trace.call(cost.repair_between, "repair over the years held")(
        one.meter_h, h_2=at_end, P=one.new.amount, RF_1=row["rf1"], RF_2=row["rf2"]
    )
    return float(whole) / terms["years"]
