"""A narrower machine as what is done instead, where a tractor does not do the work at the width wished."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evener.schema.records import JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.core.draws import Draws
from evener.scoring.decision.cheapest import decide
from evener.scoring.decision.narrower import narrower
from evener.scoring.decision.sizing import size_job


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


TOP = Task("top", "rotary_cutter", width_m=exact(2.13), stem_m=exact(0.025), land="pasture", times_per_year=2.0)


@pytest.fixture(scope="module")
def instead(library, classes):
    """Return what one small class costs with machines as wished, and with narrower ones."""
    small = next(one for one in classes if one.tractor_id == "compact-32-4wd")

    def find(task):
        job = JobSheet(Place("a place", land=(LandUse("pasture", exact(8.0)),), slope=exact(0.05)), (task,))
        decision = decide(size_job(job, library, Draws(256)), classes)
        one = decision.cost([small])[0]
        return decision, one, narrower(decision, one, least_missed=0.005)

    return find


def test_a_narrower_machine_costs_its_own_year_and_longer_hours(instead):
    """The hours grow as the width shrinks, the machine costs less, and the work is done; the sum holds both."""
    decision, wished, found = instead(TOP)
    (one,) = found.machines
    hours = float(decision.work.tasks[0].amounts.hours.mean())
    assert 0.5 * one.wished_m <= one.width_m < one.wished_m
    assert one.hours == pytest.approx(hours * (one.wished_m / one.width_m - 1), rel=1e-6)
    assert 0 < found.cost.machines < decision.work.machines[0].a_year
    assert found.cost.does_all > 0.9 > wished.does_all
    assert found.cost.tasks[0].hours > hours * wished.does_all


@pytest.mark.parametrize(
    ("otherwise", "why"),
    [
        ({"have": True}, "it is there already"),
        ({"days": exact(0.5)}, "the days do not suffice"),
        ({"width_m": exact(4.6)}, "half the width is still too wide"),
    ],
)
def test_no_narrower_machine_where_it_would_not_do(instead, otherwise, why):
    """A machine that is there stays, the days are kept, and nothing narrower than half the wish is offered."""
    assert instead(replace(TOP, **otherwise))[2] is None, why
