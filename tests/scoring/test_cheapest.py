"""The choice that costs least on a whole place: what is there, what is planned, what nobody named."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evener.schema.money import Money
from evener.schema.records import JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.core.draws import Draws
from evener.scoring.decision.cheapest import decide
from evener.scoring.decision.sizing import size_job
from evener.scoring.decision.variants import if_hired
from evener.scoring.money.terms import NoMoney


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


LAND = (LandUse("hay", exact(10.0)), LandUse("pasture", exact(8.0)))
TOP = Task("top", "rotary_cutter", width_m=exact(1.83), stem_m=exact(0.02), land="pasture", times_per_year=2.0)
MOW = Task("mow", "disc_mower", width_m=exact(2.4), land="hay", times_per_year=2.0)
BALE = Task(
    "bale", "round_baler", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), land="hay", times_per_year=2.0
)


@pytest.fixture(scope="module")
def decided(library, classes):
    """Decide a job of tasks; return the decision and the cost of every class."""

    def find(*tasks, money=None, n=512, **more):
        place = Place("a place", land=LAND, slope=exact(0.03))
        job = JobSheet(place, tasks, money=money or Money())
        decision = decide(size_job(job, library, Draws(n)), classes, **more)
        return decision, decision.cost(classes)

    return find


def test_the_first_costs_least(decided):
    """The order is by expected cost, and the pick is the first that may be picked."""
    decision, found = decided(TOP, MOW)
    assert [one.expected for one in found] == sorted(one.expected for one in found)
    pick = decision.pick(found)
    assert decision.eligible(pick.valued.tractor)
    assert pick.does_all > 0.6


def test_an_adapter_costs_money_and_changes_nothing_else(decided, library, classes):
    """A tractor that needs bushings for a machine's hitch costs a few dollars a year more than one that does not."""
    tractor = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    assert tractor.hitch_category == "2"
    costs = []
    for category in ("2", "1"):
        decision, _ = decided(replace(TOP, width_m=exact(1.52), hitch_category=category))
        costs.append(decision.cost([tractor])[0].expected)
    assert 2.0 < costs[1] - costs[0] < 20.0


def test_the_sums_of_a_cost_add_up(decided):
    """What is printed of a tractor adds up to its expected cost."""
    _, found = decided(TOP, MOW, BALE)
    for one in found:
        parts = one.ownership + one.repair + one.running + one.hired + one.beyond + one.changed + one.machines
        assert parts == pytest.approx(one.expected, rel=1e-9)


def test_more_work_never_makes_the_pick_smaller(decided):
    """A task more, listed by the customer, asks for as much tractor or more."""
    powers = []
    for tasks in ((TOP,), (TOP, MOW), (TOP, MOW, BALE)):
        decision, found = decided(*tasks)
        powers.append(decision.pick(found).valued.tractor.pto_power_kw)
    assert powers == sorted(powers)


def test_a_tractor_there_takes_what_it_does(decided, classes):
    """With a large tractor there that does all, the smallest is the cheapest to add."""
    large = next(one for one in classes if one.tractor_id == "utility-62-4wd")
    decision, found = decided(TOP, MOW, there=[large])
    assert all(one.does_all > 0.5 for one in found)
    assert decision.pick(found).valued.tractor.pto_power_kw == min(one.pto_power_kw for one in classes)
    assert decision.reckoned.hire_all < found[0].expected


def test_gaps_count_at_a_third_of_their_chance(decided):
    """Work that nobody named comes in a third of the draws in which its chance says so, and may be hired."""
    decision, _ = decided(TOP, gaps=[(BALE, 0.6)])
    gap = decision.work.tasks[-1]
    assert gap.comes.mean() == pytest.approx(0.6 * decision.terms["gap_weight"], abs=0.01)
    assert not gap.listed


def test_hours_that_are_not_said_are_named(decided):
    """A task without area or hours is reckoned with usual hours, and the decision says which those are."""
    decision, _ = decided(TOP, Task("lift", "bale_spear", load_kg=exact(400.0)))
    assert decision.work.unsaid == ("lift",)


def test_two_driven_wheels_only_on_easy_ground(library, classes):
    """A 2WD may be the pick on gentle ground, and is not where it is steep or a loader is at work."""
    two = next(one for one in classes if one.drive == "2wd")
    lift = Task("lift", "bale_spear", attachment="loader", load_kg=exact(400.0))
    for slope, tasks, may in ((0.03, (TOP,), True), (0.10, (TOP,), False), (0.03, (TOP, lift), False)):
        job = JobSheet(Place("a place", land=LAND, slope=exact(slope)), tasks)
        assert decide(size_job(job, library, Draws(64)), classes).eligible(two) is may


def test_money_of_another_currency_is_told(decided):
    """A sheet in a currency whose rate is not said has no money, and is told what to say."""
    with pytest.raises(NoMoney, match="EUR"):
        decided(TOP, money=Money(currency="EUR"))


def test_twice_the_wage_changes_no_order_of_magnitude(decided):
    """Terms may be other than the job's, for what a break-even is worked out from."""
    decision, found = decided(TOP, MOW)
    dear = decision.otherwise(wage=40.0).cost([found[0].valued.tractor])[0]
    assert found[0].expected < dear.expected < 2 * found[0].expected


def test_means_alone_are_those_of_the_whole_sum(decided, classes):
    """The mean that variants are compared by is the expected cost, whatever was worked out for another one before."""
    decision, _ = decided(TOP, MOW, replace(BALE, planned=True, chance=0.5, year=2028))
    variants = [decision, decision.if_so({"bale": True}), decision.otherwise(wage=40.0, years=3.0), decision]
    for one in (*variants, if_hired(decision, "mow")):
        found = {each.valued.tractor.tractor_id: each.expected for each in one.cost(classes)}
        assert one.means(classes) == pytest.approx(found, rel=1e-9)
    assert decision.least(classes) is decision.pick(decision.cost(classes)).valued.tractor
