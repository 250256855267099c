"""Two tractors instead of one: what they cost together, which takes what, and the best of all pairs."""

from __future__ import annotations

import pytest

from evener.schema.records import JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.core.draws import Draws
from evener.scoring.decision import second
from evener.scoring.decision.cheapest import decide
from evener.scoring.decision.sizing import size_job
from evener.scoring.money.pair import pair_cost


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


HEAVY = Task("mow", "mower_conditioner", width_m=exact(3.0), hours_h=exact(12.0))
LIGHT = Task("sweep", "landscape_rake", width_m=exact(1.5), hours_h=exact(300.0))
PLAN = Task("bale", "round_baler", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), planned=True, chance=0.5)


@pytest.fixture(scope="module")
def decided(library, classes):
    """Decide a job of tasks; return the decision and what the classes that may be picked cost."""

    def find(*tasks):
        place = Place("a place", land=(LandUse("hay", exact(10.0)),), slope=exact(0.03))
        decision = decide(size_job(JobSheet(place, tasks), library, Draws(128)), classes)
        return decision, [one for one in decision.cost(classes) if decision.eligible(one.valued.tractor)]

    return find


def test_two_tractors_cost_what_their_parts_sum_to(decided):
    """Both tractors' ownership and repair, the tasks, the machines and what is left undone are the whole cost."""
    decision, found = decided(HEAVY, LIGHT, PLAN)
    pair = second.best_pair(decision, found)
    parts = (*pair.ownership, *pair.repair, *(one.a_year for one in pair.tasks))
    assert sum(parts) + pair.machines + pair.beyond + pair.changed == pytest.approx(pair.expected)
    for one in pair.tasks:
        assert one.first + one.second + one.there + one.hired + one.missed == pytest.approx(1.0)


def test_the_large_one_takes_the_heavy_work_and_the_small_one_the_long(decided):
    """With few hours of heavy work and many of light work each tractor takes its own, and the old one works less."""
    decision, found = decided(HEAVY, LIGHT)
    pair = second.best_pair(decision, found)
    by_name = {one.task: one for one in pair.tasks}
    assert by_name["mow"].first > 0.9 < by_name["sweep"].second
    powers = [one.tractor.pto_power_kw for one in pair.valued]
    assert powers[0] > powers[1]
    assert [one.age_yr for one in pair.valued] == [10.0, 0.0]
    assert pair.expected < found[0].expected


@pytest.mark.ci
def test_the_best_pair_is_the_best_of_all(decided):
    """No pair that shares the work costs less than the one found, whatever the search left out on its way."""
    decision, found = decided(HEAVY, LIGHT, PLAN)
    candidates = second._candidates(decision, found)
    costs = []
    for _, (one, other) in second._pairs(candidates):
        cost = pair_cost((one.valued, one.done), (other.valued, other.done), decision.reckoned)
        if second._shares(cost, used=(one.bought_used, other.bought_used)):
            costs.append(cost.expected)
    assert second.best_pair(decision, found).expected == pytest.approx(min(costs))


def test_one_that_stands_idle_is_no_second_tractor(decided):
    """A single task is not shared by two, however cheap an old tractor is."""
    assert second.best_pair(*decided(HEAVY)) is None
