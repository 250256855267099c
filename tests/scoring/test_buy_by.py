"""What a machine still to be bought must not pass to go with a tractor."""

from dataclasses import replace

import pytest

from evener.schema.records import Quantity, Task
from evener.scoring.combinations.buy_by import limits
from evener.scoring.combinations.outcomes import task_outcome


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


CUT = Task("cut", "rotary_cutter", width_m=exact(1.83), stem_m=exact(0.025), attachment="mounted", slope=exact(0.0))


@pytest.mark.parametrize(("said", "limit"), [("rated_pto_power_kw", "rating_kw"), ("machine_mass_kg", "mass_kg")])
def test_a_machine_within_its_limit_goes_and_one_beyond_does_not(sized, by_id, classes, said, limit):
    """The tractor does the work with a machine just within the rating or mass to buy it by, and not with one beyond."""
    sizing = sized(CUT)
    offer = sizing.score([by_id["compact-32-4wd"]], classes)[0].offer
    most = getattr(limits(sizing.setting, CUT, sizing.tasks[0], offer, sizing.confidence), limit)
    done = []
    for share in (0.98, 1.15):
        one = sized(replace(CUT, **{said: exact(share * most)}))
        done.append(float(task_outcome(replace(one.tasks[0], gates=()), offer.block).met.mean()))
    assert done[0] >= sizing.confidence
    assert done[1] < 0.5


def test_what_runs_on_wheels_or_is_not_driven_has_no_such_limit(sized, by_id, classes):
    """A tool that is pulled has neither a rating nor a mass to buy it by."""
    task = Task("till", "disk_harrow", width_m=exact(2.4), attachment="trailed")
    sizing = sized(task)
    offer = sizing.score([by_id["utility-62-4wd"]], classes)[0].offer
    found = limits(sizing.setting, task, sizing.tasks[0], offer, sizing.confidence)
    assert (found.rating_kw, found.mass_kg) == (None, None)
