"""What a sheet itself asks of a tractor: the gate and the shed it has to pass, and the budget."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.enquiry.filters import Filter, up_to
from evener.scoring.money.prices import priced
from evener.scoring.money.terms import NoMoney, terms

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.schema.money import Money
    from evener.schema.records import JobSheet, Tractor
    from evener.scoring.core.setting import Library

ROUNDING = 1 + 1e-9


def of_sheet(job: JobSheet, library: Library, among: Sequence[Tractor]) -> tuple[Filter, ...]:
    """Return what the sheet itself asks of a tractor.

    Parameters
    ----------
    job : the sheet; a gate or a shed that is a range is taken at its least
    library : what prices are estimated from where a record states none
    among : the tractors to pick among
    """
    most = job.money.budget
    found = [] if most is None else [_budget(most, job.money, library, among)]
    for name, said, field in (
        ("no wider than the gate", job.place.gate_m, "overall_width_m"),
        ("no higher than the shed", job.place.shed_m, "overall_height_m"),
    ):
        if said is not None and said.low is not None:
            found.append(Filter(f"{name}, {said.text or f'{said.low:g} m'}", up_to(field, said.low)))
    return tuple(found)


def _budget(most: float, money: Money, library: Library, among: Sequence[Tractor]) -> Filter:
    """Return the budget as a filter of stated prices, and of estimated ones where a record states none.

    Where not one tractor is within it by what its price is estimated to be, estimates hold nothing back: there has to
    be a plan, and a used tractor may be within it. The words say so.
    """
    try:
        taken = terms(money, library)
    except NoMoney:
        taken = None
    known: dict[str, float] = {}

    def price(one: Tractor) -> float | None:
        if one.price is not None:
            return one.price
        if taken is None or not one.pto_power_kw:
            return None
        if one.tractor_id not in known:
            known[one.tractor_id] = priced(one, library, money, taken).price.amount
        return known[one.tractor_id]

    def keeps(one: Tractor) -> bool | None:
        amount = price(one)
        return None if amount is None else amount <= most * ROUNDING

    def stated(one: Tractor) -> bool | None:
        return None if one.price is None else keeps(one)

    words = f"price up to the budget of {most:,.0f}"
    if any(keeps(one) for one in among) or not any(stated(one) is None and keeps(one) is False for one in among):
        return Filter(words, keeps, lambda one: one.price is None)
    return Filter(f"{words}, which by estimated prices none listed meets: only stated prices are held to it", stated)
