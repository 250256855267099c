"""The choice and its money: the pick with one size down and up, what it hangs on, today and with plans, break-evens."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.ranking.arrangement import HIRED, NOBODY, Arranged, arrangement
from evener.ranking.costed import SURE, Costed, beside, costed
from evener.ranking.hinges import Hinge, Hinges
from evener.ranking.narrowed import WithNarrower, with_narrower
from evener.ranking.size_named import Size, size_of
from evener.ranking.stopped import stopped
from evener.scoring.money import break_even
from evener.scoring.place.called import called

if TYPE_CHECKING:
    from evener.results.margins import Limit
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.questions.choosing import ByCost

SIZES = (
    "width_m",
    "stem_m",
    "bale_width_m",
    "bale_diameter_m",
    "bale_height_m",
    "tank_l",
    "auger_diameter_m",
    "volume_m3",
    "load_kg",
    "electric_power_kw",
)
YEARS = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0)


@dataclass(frozen=True)
class Amount:
    """One number with its unit."""

    amount: float
    unit: str


@dataclass(frozen=True)
class ToChoose:
    """A machine that is still to be bought, and what to buy it by.

    Attributes
    ----------
    task, machine : the work, and the kind of machine
    sizes : as the sheet says them
    pto_power, unit : its rating must not be above this; None where it has none
    mass : nor its mass above this, where it is carried
    price, price_basis : what it costs to buy: stated, the sheet's, or custom; None where no price is known
    a_year : what owning and repairing it cost in a year, in what every tractor costs; None where no price is known
    """

    task: str
    machine: str
    sizes: tuple[str, ...]
    pto_power: float | None
    unit: str
    mass: Amount | None
    price: float | None
    price_basis: str | None
    a_year: float | None


@dataclass(frozen=True)
class BreakEven:
    """Where another size costs the same.

    Attributes
    ----------
    other : the other tractor
    task, chance : the plan, and its chance above which the larger of the two pays; None where it is about years
    years : years held at which the order turns; None where it is about a plan
    """

    other: str
    task: str | None
    chance: float | None
    years: float | None


@dataclass(frozen=True)
class Choice:
    """The choice that costs least, with its money.

    Attributes
    ----------
    currency, year_zero, years : of all money, the year of the purchase, and how long it is kept
    custom : whether prices or rates of custom took part: an order of magnitude
    pick, down, up : the choice, one size down and one up
    today, with_plans, surest : the size without plans and gaps, with all of them come, and that does all most surely
    hire_all : what it costs a year to buy nothing and hire all that is for hire
    not_for_hire : names of listed and planned tasks that nobody is hired for
    there_does_all : whether tractors that are there do all that is listed, so that nothing has to be bought
    hangs_on : the answers that decide, those that set the size furthest apart first
    measure : the first thing to ask or measure, as `ask` puts it, where one is worth it
    break_evens : where one size down or up costs the same
    arrangement : who does what with the pick
    stopped : what the pick is shortest of at work that is hired with it or not done
    machines : machines that the sheet does not say are there, for work that is mostly not hired
    narrower : the pick and one size down with narrower machines, where these do work that is not done as wished
    hours_taken : tasks whose hours the sheet does not say, so that usual ones were taken
    """

    currency: str
    year_zero: int
    years: float
    custom: bool
    pick: Costed
    down: Costed | None
    up: Costed | None
    today: Size | None
    with_plans: Size | None
    surest: Size | None
    hire_all: float
    not_for_hire: tuple[str, ...]
    there_does_all: bool
    hangs_on: tuple[Hinge, ...]
    measure: Hinge | None
    break_evens: tuple[BreakEven, ...]
    arrangement: tuple[Arranged, ...]
    stopped: tuple[Limit, ...]
    machines: tuple[ToChoose, ...]
    narrower: tuple[WithNarrower, ...]
    hours_taken: tuple[str, ...]


def choice(picks: ByCost, open_to_ask: Hinges, pick_id: str | None = None) -> Choice:
    """Return the choice among tractors that were reckoned.

    Parameters
    ----------
    picks : the job with its money, and what the tractors cost
    open_to_ask : what it hangs on, and what to ask first
    pick_id : the pick, where another rule makes it than least cost
    """
    cheapest, decision = picks.cheapest, picks.cheapest.decision
    found = cheapest.found
    pick = next((one for one in cheapest.every if one.valued.tractor.tractor_id == pick_id), found[0])
    down, up = (beside(found, pick, larger=larger) for larger in (False, True))
    least = min(found[0].expected, pick.expected)
    terms, arranged = decision.terms, arrangement(decision, pick)
    hired = {one.task for one in arranged if one.by in {HIRED, NOBODY}}
    return Choice(
        currency=terms.currency,
        year_zero=int(terms["year_zero"]),
        years=terms["years"],
        custom=pick.valued.price.basis == "custom" or not decision.sizing.setting.job.money.hire,
        pick=costed(pick, least, decision),
        down=None if down is None else costed(down, least, decision),
        up=None if up is None else costed(up, least, decision),
        today=_size_if(decision, found, come=False),
        with_plans=_size_if(decision, found, come=True),
        surest=_surest(found),
        hire_all=decision.reckoned.hire_all,
        not_for_hire=tuple(one.name for one in decision.work.tasks if not one.for_hire and not one.gap),
        there_does_all=_there_does_all(decision),
        hangs_on=open_to_ask.hangs_on,
        measure=open_to_ask.first,
        break_evens=_break_evens(decision, pick, [one for one in (down, up) if one is not None]),
        arrangement=arranged,
        stopped=stopped(decision, pick.valued.tractor, hired),
        machines=_to_choose(decision, pick, hired),
        narrower=with_narrower(decision, (pick, down)),
        hours_taken=decision.work.unsaid,
    )


def _size_if(decision: Decision, found: Sequence[YearlyCost], *, come: bool) -> Size | None:
    least = decision.if_plans(come=come).least([one.valued.tractor for one in found])
    return None if least is None else size_of(least)


def _surest(found: Sequence[YearlyCost]) -> Size | None:
    if not found:
        return None
    most = max(one.does_all for one in found)
    sure = [one for one in found if one.does_all >= SURE * most]
    return _size(min(sure, key=lambda one: one.expected))


def _size(one: YearlyCost | None) -> Size | None:
    return None if one is None else size_of(one.valued.tractor)


def _stricter(one: ToChoose, other: ToChoose) -> ToChoose:
    """Return a machine that several tasks use with the strictest of their bounds."""
    ratings = [each.pto_power for each in (one, other) if each.pto_power is not None]
    weights = [each.mass for each in (one, other) if each.mass is not None]
    return replace(
        one,
        pto_power=min(ratings, default=None),
        mass=min(weights, key=lambda each: each.amount, default=None),
    )


def _there_does_all(decision: Decision) -> bool:
    listed = [task.name for task in decision.work.tasks if task.listed]
    done = [float(np.isfinite(decision.reckoned.there[name]).mean()) for name in listed]
    return bool(done) and min(done) >= SURE


def _to_choose(decision: Decision, pick: YearlyCost, hired: Collection[str]) -> tuple[ToChoose, ...]:
    setting, bounds = decision.sizing.setting, decision.buy_by(pick.valued.tractor)
    found: dict[str, ToChoose] = {}
    for task in setting.job.tasks:
        if task.have or task.implement_id or task.name in decision.sizing.owned or task.name in hired:
            continue
        label = called(setting.family(task), task)
        said = ((getattr(task, name), " stems" if name == "stem_m" else "") for name in SIZES)
        told = (f"{one.text}{of}" for one, of in said if one is not None and one.low is not None and one.text)
        sizes = tuple(dict.fromkeys(told))
        most = bounds.get(task.name)
        rating, mass = (None, None) if most is None else (most.rating_kw, most.mass_kg)
        heaviest = None if mass is None else Amount(mass, "kg")
        buy = next((one for one in decision.work.machines if task.name in one.tasks), None)
        money = (None, None, None) if buy is None else (buy.price.amount, buy.price.basis, buy.a_year)
        chosen = ToChoose(task.name, label, sizes, rating, "kW", heaviest, *money)
        before = found.get(task.machine or task.name, chosen)
        found[task.machine or task.name] = _stricter(before, chosen)
    return tuple(found.values())


def _break_evens(decision: Decision, pick: YearlyCost, others: Sequence[YearlyCost]) -> tuple[BreakEven, ...]:
    found: list[BreakEven] = []
    gaps = {task.name for task in decision.work.tasks if task.gap}
    tractors = [one.valued.tractor for one in (pick, *others)]
    by_years = {kept: decision.otherwise(years=kept).means(tractors) for kept in YEARS}
    own = pick.valued.tractor.tractor_id
    for other in others:
        name = other.valued.tractor.tractor_id
        for task in sorted(pick.if_comes.keys() - gaps):
            at = break_even.chance(task, pick, other)
            if at is not None:
                found.append(BreakEven(name, task, at, None))
        more = {kept: costs[name] - costs[own] for kept, costs in by_years.items()}
        kept = break_even.years(more)
        if kept is not None:
            found.append(BreakEven(name, None, None, kept))
    return tuple(found)
