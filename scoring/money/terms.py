"""What a decision reckons with: years held, interest, wage, fuel and the rest, as the sheet or as custom has it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.schema.money import Money
    from evener.scoring.core.setting import Library, Row

CUSTOMER = "customer"
OF_TABLES = "USD"
# Terms that stand in tables of their own: name here, table, the row's name there.
_OF_PRICES = {
    "size_change": "share lost at once when changing size",
    "lost_season": "cost of a lost season",
    "off_for_2wd": "share off for 2WD",
    "hitch_bushings": "bushings or balls for a smaller hitch category",
    "pto_gear": "reduction gear from 1000 to 540 rpm",
}
# What work is worth to who lists it goes by these as custom has them, whatever this buyer says of them.
_OF_WORTH = ("years", "interest")
_KEPT = ("taxes_pct_of_purchase_per_yr", "housing_pct_of_purchase_per_yr", "insurance_pct_of_purchase_per_yr")


class NoMoney(ValueError):
    """No money can be reckoned; the text says why and what to write."""


@dataclass(frozen=True)
class Term:
    """One figure that a decision reckons with.

    Attributes
    ----------
    value : what is taken
    low, high : what is usual; the value itself where the sheet says it
    unit : its unit, with the tables' currency where it is money
    source, status : where it comes from
    note : what it is
    """

    value: float
    low: float
    high: float
    unit: str
    source: str
    status: str
    note: str


@dataclass(frozen=True)
class Terms:
    """All terms of one decision.

    Attributes
    ----------
    figures : by name
    currency : of all money
    exchange : what one unit of the tables' currency is in it
    said : names of those that the sheet states
    usual : years held and interest as custom has them, said or not: what listed work is worth goes by those
    """

    figures: Mapping[str, Term]
    currency: str
    exchange: float
    said: frozenset[str]
    usual: Mapping[str, float]

    def __getitem__(self, name: str) -> float:
        """Return the value of one term."""
        return self.figures[name].value

    @cached_property
    def of_worth(self) -> Terms:
        """The terms with the usual years held and interest: keeping it for fewer years makes no work worth more."""
        return self.otherwise(**self.usual)

    def otherwise(self, **values: float) -> Terms:
        """Return the terms with some of them other than they are."""
        changed = {name: replace(self.figures[name], value=value) for name, value in values.items()}
        return replace(self, figures={**self.figures, **changed})


def terms(money: Money, library: Library) -> Terms:
    """Return the terms of a sheet: what it says, else what the tables have.

    Parameters
    ----------
    money : what the sheet says of money
    library : the tables

    Raises
    ------
    NoMoney
        The sheet's currency is another than the tables', and it does not say what theirs is worth.
    """
    currency = money.currency or OF_TABLES
    exchange = money.exchange or (1.0 if currency == OF_TABLES else None)
    if exchange is None:
        raise NoMoney(f"prices of custom are in {OF_TABLES}: say [prices] usd, what one dollar is in {currency}")
    figures = {row["what"]: _term(row, exchange) for row in library.tables["policy"]}
    for name, what in _OF_PRICES.items():
        row = library.row("prices", what=what)
        figures[name] = _term({**row, "unit": row["currency"]}, exchange)
    kept = [library.row("costs", other_name=name) for name in _KEPT]
    share = sum(row["other_value"] for row in kept) / 100
    note = "taxes, housing and insurance over the mean value"
    figures["kept"] = Term(share, share, share, "1", kept[0]["source_id"], kept[0]["status"], note)
    for name, row_name, scale in (("oil", "lubrication_pct_of_fuel_cost", 100.0), ("labour", None, None)):
        row = library.row("costs", other_name=row_name or "labor_multiplier_tractor")
        value = 1 + row["other_value"] / scale if scale else row["other_value"]
        figures[name] = Term(value, value, value, "1", row["source_id"], row["status"], row["note"] or "")
    usual = {name: figures[name].value for name in _OF_WORTH}
    for name, value in money.terms.items():
        figures[name] = replace(figures[name], value=value, low=value, high=value, source=CUSTOMER, status=CUSTOMER)
    return Terms(figures, currency, exchange, frozenset(money.terms), usual)


def _term(row: Row, exchange: float) -> Term:
    unit = str(row["unit"])
    scale = exchange if unit.startswith(OF_TABLES) else 1.0
    low, typical, high = (float(row[name]) * scale for name in ("low", "typical", "high"))
    return Term(typical, low, high, unit, row["source_id"], row["status"], row["note"] or row["what"])
