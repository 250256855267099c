"""What a tractor costs in a year: prices, ownership, work hired and left undone, and the pick that costs least."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evener.schema.money import Money, Rate
from evener.schema.records import Tractor
from evener.scoring.core.trace import Trace
from evener.scoring.mechanics.work import cost
from evener.scoring.money import break_even, costs, hiring, prices
from evener.scoring.money.owning import ownership, repair
from evener.scoring.money.terms import NoMoney, terms
from evener.scoring.money.yearly_work import Done, YearlyTask

N = 200
NOTHING_SAID = Money()
HP = 0.7457


@pytest.fixture(scope="module")
def tables(library):
    return library


@pytest.fixture(scope="module")
def usual(library):
    return terms(Money(), library)


def tractor(hp, **more):
    return Tractor(f"T{hp}", "class", f"{hp} hp", pto_power_kw=hp * HP, drive="4wd", **more)


def share_of_draws(p):
    """A mask that holds in a share of the draws."""
    return np.arange(N) < p * N


def amounts(hours=40.0, times=2.0, **more):
    return hiring.Amounts(np.full(N, hours), times, **more)


def task(
    name, library, usual, *, family="disc_mower", listed=True, comes=None, years=1.0, much=None, money=NOTHING_SAID
):
    much = much or amounts(ha=np.full(N, 20.0))
    charged = hiring.rate(family, much, library, money, usual)
    hire = hiring.hire(charged, much, usual, Trace(on=False))
    return YearlyTask(name, much, charged, hire, share_of_draws(1) if comes is None else comes, years, listed)


def ways(tasks, does):
    return {one.name: Done(share_of_draws(does[one.name]), one.amounts.hours, np.full(N, 0.6)) for one in tasks}


def reckon(tasks, does, library, usual, there=None):
    """Reckon a row of classes, each doing each task in a share of the draws; return the cost of each by power."""
    fleet = [prices.priced(tractor(hp), library, Money(), usual) for hp in does]
    done = [ways(tasks, each) for each in does.values()]
    nobody = {one.name: np.full(N, np.inf) for one in tasks}
    reckoned = costs.reckoning(tasks, fleet, done, {**nobody, **(there or {})}, usual, library)
    found = [costs.yearly_cost(one, each, reckoned) for one, each in zip(fleet, done, strict=True)]
    return dict(zip(does, found, strict=True)), reckoned


def pick(found):
    return min(found, key=lambda hp: found[hp].expected)


def test_a_price_at_a_listed_size_is_the_listed_price(library, usual):
    """At a size of the table the price is the table's, 2WD has its share off, and between two sizes it lies between."""
    assert prices.price_of_new(40.0, "4wd", library, Money(), usual).amount == pytest.approx(46000)
    assert prices.price_of_new(40.0, "2wd", library, Money(), usual).amount == pytest.approx(46000 * 0.85)
    assert 46000 < prices.price_of_new(45.0, "4wd", library, Money(), usual).amount < 60000


def test_own_prices_go_first(library):
    """A record's asking price stands before the sheet's prices, and the sheet's before custom."""
    money = Money(tractors=((30.0, 20000.0),))
    said = terms(money, library)
    new = prices.priced(tractor(30 / HP), library, money, said)
    asked = prices.priced(tractor(30 / HP, price=11000.0), library, money, said)
    assert (new.price.amount, new.price.basis) == (pytest.approx(20000), "sheet")
    assert (asked.price.amount, asked.price.basis) == (11000, "stated")


def test_age_and_hours_take_off_the_price(library, usual):
    """A unit without a price is worth the published share of a new one's at its age and hours."""
    used = prices.priced(tractor(40, model_year=2016, meter_hours_h=2500.0), library, Money(), usual)
    share = cost.remaining_value(10.0, h=250.0, C_1=0.981, C_2=0.093, C_3=0.0058)
    assert used.price.amount == pytest.approx(used.new.amount * share)


def test_money_of_another_currency_needs_its_rate(library):
    """Custom in dollars is not read as pounds: a sheet in pounds says what a dollar is, or there is no money."""
    with pytest.raises(NoMoney, match="GBP"):
        terms(Money(currency="GBP"), library)
    money = Money(currency="GBP", exchange=0.8)
    pounds = terms(money, library)
    assert prices.price_of_new(40.0, "4wd", library, money, pounds).amount == pytest.approx(46000 * 0.8)
    assert (pounds["wage"], pounds["interest"], pounds["lost_season"]) == (pytest.approx(16), 0.06, pytest.approx(1200))


def test_ownership_is_by_the_published_equations(library, usual):
    """Capital recovery, and taxes, insurance and housing on the mean value, redone by the formulas one by one."""
    one = prices.priced(tractor(40), library, Money(), usual)
    silent = Trace(on=False)
    price = one.price.amount
    left = price * cost.remaining_value(8.0, h=200.0, C_1=0.981, C_2=0.093, C_3=0.0058)
    capital = cost.capital_recovery(price, S=left, CRF=cost.capital_recovery_factor(0.06, n=8.0), i=0.06)
    owned = ownership(one, 200.0, library, usual, silent)
    assert owned == pytest.approx(capital + 0.02 * (price + left) / 2)
    assert repair(one, 200.0, library, usual, silent) == pytest.approx(0.003 * price * 1.6**2 / 8)


def test_every_step_of_ownership_is_written_down(library, usual):
    """A traced reckoning names the equations of value, capital, keeping and repair."""
    trace = Trace(on=True)
    one = prices.priced(tractor(40), library, Money(), usual)
    ownership(one, 200.0, library, usual, trace)
    repair(one, 200.0, library, usual, trace)
    named = [step.method for step in trace.steps]
    assert named == [
        "cost.salvage",
        "cost.capital_recovery_factor",
        "cost.capital_recovery",
        "cost.taxes_insurance_housing",
        "cost.repair_between",
    ]


def test_hire_has_the_markup_and_the_call_outs(library, usual):
    """20 ha at the custom rate of 42, a quarter more, and two call-outs of 120."""
    assert task("mow", library, usual).hire == pytest.approx(1.25 * 42 * 20 + 2 * 120)


def test_hire_falls_back_to_the_hour(library, usual):
    """Where the area is not known, or the family has no rate, the hours are charged."""
    much = amounts(hours=10.0, times=1.0)
    assert task("mow", library, usual, much=much).hire == pytest.approx(1.25 * 85 * 10 + 120)
    own = Money(hire={"disc_mower": Rate(100.0, "h")})
    assert task("mow", library, usual, much=much, money=own).hire == pytest.approx(1.25 * 100 * 10 + 120)


def test_the_smallest_that_does_all_is_picked(library, usual):
    """Where every size from one up does all for sure, and none below does, that size costs least."""
    tasks = [task("mow", library, usual), task("feed", library, usual, family="bale_spear")]
    does = {hp: {"mow": float(hp >= 40), "feed": float(hp >= 50)} for hp in (25, 32, 40, 50, 62, 75)}
    found, _ = reckon(tasks, does, library, usual)
    assert pick(found) == 50


def test_listed_work_is_not_hired_away(library, usual):
    """Ten hours a year that a customer lists are worth the tractor that does them, though hiring them is cheaper."""
    small = task("mow", library, usual, much=amounts(hours=10.0, times=1.0))
    does = {hp: {"mow": float(hp >= 62)} for hp in (18, 25, 40, 62, 75)}
    found, reckoned = reckon([small], does, library, usual)
    assert pick(found) == 62
    assert reckoned.hire_all < found[62].expected


def test_work_that_may_be_hired_is_worth_its_hire(library, usual):
    """The same ten hours, marked as work that may be hired, do not size the tractor."""
    small = task("mow", library, usual, much=amounts(hours=10.0, times=1.0), listed=False)
    main = task("feed", library, usual, family="bale_spear")
    does = {hp: {"mow": float(hp >= 62), "feed": float(hp >= 25)} for hp in (18, 25, 40, 62, 75)}
    found, _ = reckon([small, main], does, library, usual)
    assert pick(found) == 25


def test_a_tractor_that_is_there_takes_work_off(library, usual):
    """What a tractor that is there does is not asked of the one to buy."""
    tasks = [task("mow", library, usual), task("feed", library, usual, family="bale_spear")]
    does = {hp: {"mow": float(hp >= 75), "feed": float(hp >= 25)} for hp in (25, 40, 62, 75)}
    found, _ = reckon(tasks, does, library, usual, there={"mow": np.full(N, 900.0)})
    assert pick(found) == 25
    assert found[25].does_all == 1.0


def test_one_more_unit_in_a_yard_changes_no_other_cost(library, usual):
    """The references are classes alone: what a unit costs does not depend on what else is for sale."""
    tasks = [task("mow", library, usual)]
    does = {hp: {"mow": min(1.0, hp / 60)} for hp in (25, 40, 62)}
    found, reckoned = reckon(tasks, does, library, usual)
    unit = prices.priced(tractor(50, price=9000.0), library, Money(), usual)
    way = ways(tasks, {"mow": 0.8})
    another = prices.priced(tractor(60, price=1.0), library, Money(), usual)
    alone = costs.yearly_cost(unit, way, reckoned).expected
    costs.yearly_cost(another, ways(tasks, {"mow": 1.0}), reckoned)
    assert costs.yearly_cost(unit, way, reckoned).expected == alone
    assert found[62].does_all == 1.0


def test_doing_more_never_costs_more(library, usual):
    """A tractor that does a task in more draws, all else equal, costs no more."""
    tasks = [task("mow", library, usual)]
    does = {hp: {"mow": min(1.0, hp / 80)} for hp in (25, 40, 62, 92)}
    _, reckoned = reckon(tasks, does, library, usual)
    one = prices.priced(tractor(40), library, Money(), usual)
    by_share = [costs.yearly_cost(one, ways(tasks, {"mow": p}), reckoned).expected for p in (0.0, 0.3, 0.6, 0.9, 1.0)]
    assert by_share == sorted(by_share, reverse=True)


def test_the_largest_difference_counts_once(library, usual):
    """Two listed tasks that the same larger size would do are worth that size once, not twice."""
    little = amounts(hours=1.0, times=0.0)
    tasks = [task(name, library, usual, much=little) for name in ("mow", "chop")]
    does = {hp: {"mow": float(hp >= 62), "chop": float(hp >= 62)} for hp in (25, 62)}
    both, _ = reckon(tasks, does, library, usual)
    one, _ = reckon(tasks[:1], {hp: {"mow": each["mow"]} for hp, each in does.items()}, library, usual)
    assert both[25].beyond + both[25].changed == pytest.approx(one[25].beyond + one[25].changed, rel=0.05)


def test_listed_work_is_never_left_to_a_change_of_size(library, usual):
    """Who is sure to be too small pays three ownership differences, though trading up after a year would be cheaper."""
    tasks = [task("mow", library, usual, much=amounts(hours=10.0, times=0.0))]
    found, _ = reckon(tasks, {25: {"mow": 0.0}, 62: {"mow": 1.0}}, library, usual)
    assert found[25].changed == 0.0
    worth = 3 * (found[62].ownership - found[25].ownership)
    assert found[25].beyond + found[25].hired == pytest.approx(worth)


def test_a_plan_is_hired_or_the_size_changed_whichever_is_cheaper(library, usual):
    """Much planned work is met by a change of size, with its loss and the larger one's ownership; little is hired."""
    lost = (0.2 * prices.priced(tractor(25), library, Money(), usual).price.amount + 1500) / 8
    for hours, changes in ((400.0, True), (2.0, False)):
        plan = task("mow", library, usual, listed=False, much=amounts(hours=hours, times=1.0))
        found, _ = reckon([plan], {25: {"mow": 0.0}, 62: {"mow": 1.0}}, library, usual)
        assert (found[25].changed > 0, found[25].hired > 0) == (changes, not changes)
        if changes:
            assert found[25].expected >= found[62].ownership + lost


def test_a_plan_counts_with_its_chance_and_its_years(library, usual):
    """A plan of one chance in four, there in half of the years, is paid for by an eighth of its hire."""
    plan = task("bale", library, usual, listed=False, comes=share_of_draws(0.25), years=0.5)
    found, _ = reckon([plan], {25: {"bale": 0.0}, 32: {"bale": 0.0}}, library, usual)
    assert found[25].hired == pytest.approx(plan.hire.mean() / 8)
    at = break_even.chance("bale", found[25], replace(found[25], if_not={"bale": 1e5}, if_comes={"bale": 0.0}))
    assert 0 < at < 1


def test_break_even_is_where_both_cost_the_same(library, usual):
    """At the chance that is printed the mixture of the two means is equal for both tractors."""
    plan = task("bale", library, usual, listed=False, comes=share_of_draws(0.3), much=amounts(hours=200.0, times=5.0))
    does = {25: {"bale": 0.0}, 75: {"bale": 1.0}}
    found, _ = reckon([plan], does, library, usual)
    at = break_even.chance("bale", found[25], found[75])
    sums = [at * each.if_comes["bale"] + (1 - at) * each.if_not["bale"] for each in found.values()]
    assert sums[0] == pytest.approx(sums[1])


def test_what_the_sheet_says_of_terms_is_taken(library):
    """A stated term replaces custom, and is marked as the customer's."""
    said = terms(Money(terms={"years": 12.0}), library)
    assert (said["years"], said.figures["years"].status) == (12.0, "customer")
    assert said["interest"] == 0.06
    assert said.otherwise(years=3.0)["years"] == 3.0
