"""What a machine that is still to be bought costs: its price, and what owning and repairing it come to in a year."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from evener.scoring.core.trace import Trace
from evener.scoring.mechanics.work import cost
from evener.scoring.money.prices import Price, between

if TYPE_CHECKING:
    from evener.schema.money import Money
    from evener.scoring.core.setting import Library
    from evener.scoring.money.terms import Terms


EACH = "each"  # of machines whose price goes by no size


@dataclass(frozen=True)
class Wanted:
    """A machine by what its price goes by.

    Attributes
    ----------
    family : of machines
    size : in the unit that prices of the family go by; None where it is not known
    duty, build : light, medium or heavy, and its kind where that is another than the family's usual one
    """

    family: str
    size: float | None
    duty: str | None = None
    build: str | None = None


@dataclass(frozen=True)
class Bought:
    """A machine still to be bought, with its money.

    Attributes
    ----------
    name : of the machine as the sheet has it, else of the first task it does
    wanted : what it is
    tasks : hours in a year of each task it does [h/yr]
    price : what it costs to buy
    ownership, repair : of it [money/yr]
    """

    name: str
    wanted: Wanted
    tasks: Mapping[str, float]
    price: Price
    ownership: float
    repair: float

    @property
    def a_year(self) -> float:
        """Ownership and repair [money/yr]."""
        return self.ownership + self.repair


def goes_by(family: str, library: Library) -> str | None:
    """Return the size that prices of a family go by, or that they go by none; None where no price is known."""
    return next((str(row["by"]) for row in library.rows("machine_prices", family=family)), None)


def bought(
    name: str,
    wanted: Wanted,
    tasks: Mapping[str, float],
    price: Price,
    library: Library,
    terms: Terms,
    trace: Trace | None = None,
) -> Bought:
    """Return a machine with what it costs in a year.

    Parameters
    ----------
    name, wanted : the machine
    tasks : hours in a year of each task it does [h/yr]
    price : what it costs to buy
    library, terms : the tables and the terms
    trace : where steps are to be written
    """
    kind, trace = _kinds()[wanted.family], trace or Trace(on=False)
    owned = _ownership(price.amount, kind["value_as"], library, terms, trace, name)
    mended = _repair(price.amount, kind["repair_as"], sum(tasks.values()), library, terms, trace, name)
    return Bought(name, wanted, dict(tasks), price, owned, mended)


def price_of(
    wanted: Wanted, library: Library, money: Money, terms: Terms, *, wished: Wanted | None = None
) -> Price | None:
    """Return the price of a new machine: as the sheet has it for its family, else as custom has it; None if unknown.

    Parameters
    ----------
    wanted : the machine
    library, money, terms : the tables, what the sheet says, and the terms
    wished : the machine that the sheet's price is of, where another of the family is priced beside it
    """
    of_custom = _of_custom(wanted, library, terms)
    if wanted.family not in money.machines or wanted.family not in _kinds():
        return of_custom
    amount = money.machines[wanted.family]
    other = None if wished is None else _of_custom(wished, library, terms)
    if of_custom is not None and other is not None:
        amount *= of_custom.amount / other.amount
    return Price(amount, amount, amount, "sheet", "customer", "customer")


def _of_custom(wanted: Wanted, library: Library, terms: Terms) -> Price | None:
    rows = library.rows("machine_prices", family=wanted.family)
    if not rows or wanted.size is None:
        return None
    row, kind = rows[0], _kinds()[wanted.family]
    at = [(row["size_low"], row["price_low"]), (row["size_high"], row["price_high"])]
    of_duty = kind[wanted.duty] if wanted.duty in {"light", "heavy"} else ""
    of_build = kind["of_build"] if wanted.build is not None and wanted.build == kind["build"] else ""
    amount = between(wanted.size, at) * float(of_duty or 1) * float(of_build or 1) * terms.exchange
    return Price(amount, amount, amount, "custom", row["source_id"], row["status"])


def _ownership(price: float, value_as: str, library: Library, terms: Terms, trace: Trace, name: str) -> float:
    """Return depreciation, interest, taxes, insurance and housing of a machine bought new [money/yr]."""
    row = library.row("costs", parameter_set="remaining_value", machine=value_as)
    years, interest, of = terms["years"], terms["interest"], f"machine for {name}"
    value = trace.call(cost.remaining_value, f"{of}: value left", row["source_id"], row["status"])
    left = float(value(max(years, 1.0), h=0.0, C_1=row["c1"], C_2=row["c2"], C_3=0.0))
    sold = float(trace.call(cost.salvage, f"{of}: value at the end")(price, RV=left))
    factor = float(trace.call(cost.capital_recovery_factor, of)(interest, n=years))
    capital = float(trace.call(cost.capital_recovery, of)(price, S=sold, CRF=factor, i=interest))
    return capital + float(trace.call(cost.taxes_insurance_housing, of)(price, S=sold, k=terms["kept"]))


def _repair(
    price: float, repair_as: str, hours: float, library: Library, terms: Terms, trace: Trace, name: str
) -> float:
    """Return the mean repair in a year; none where no row of such machines is known [money/yr]."""
    if not repair_as:
        return 0.0
    row = library.row("field_operations", machine=repair_as)
    worked = hours * terms["years"]
    between = trace.call(cost.repair_between, f"machine for {name}: repair", row["source_id"], row["status"])
    whole = between(0.0, h_2=worked, P=price, RF_1=row["rf1"], RF_2=row["rf2"])
    return float(whole) / terms["years"]


@lru_cache(maxsize=1)
def _kinds() -> Mapping[str, Mapping[str, str]]:
    """Return by family which published rows its value and repair go by, and what duty and build do to its price."""
    text = resources.files("evener.scoring.money").joinpath("machine_kinds.csv").read_text(encoding="utf-8")
    return {row["family"]: row for row in csv.DictReader(text.splitlines())}
