"""The speed a combination holds where it has less than the usual speed asks."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from evener.schema.records import Quantity, Task
from evener.scoring.combinations.held_speed import held_pace
from evener.scoring.combinations.outcomes import task_outcome


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


CUT = Task("cut", "rotary_cutter", width_m=exact(1.83), stem_m=exact(0.025))


def slowed(sizing, floor, whole, least=0.7):
    """Return the only task with a PTO power of this floor and of this at the usual speed [kW]."""
    task = sizing.tasks[0]
    power = next(one for one in task.demands if one.axis == "pto_power")
    n, none = sizing.setting.draws.n, np.zeros(sizing.setting.draws.n)
    made = replace(power, alpha=np.full(n, whole), beta=none, floor=(np.full(n, floor), none), least_pace=least)
    return replace(task, demands=(made,), gates=())


@pytest.mark.parametrize(
    ("has", "pace", "met"), [(30.0, 0.7, True), (35.0, 0.85, True), (60.0, 1.0, True), (29.0, 0.7, False)]
)
def test_what_lies_above_the_floor_costs_speed_and_nothing_else(sized, by_id, classes, has, pace, met):
    """Between 30 and 40 kW asked, 35 hold half of what slowing gives; below the floor the work fails."""
    sizing = sized(CUT)
    task = slowed(sizing, 30.0, 40.0)
    block = sizing.score([replace(by_id["utility-50-4wd"], pto_power_kw=has)], classes)[0].offer.block
    assert task_outcome(task, block).met.all() == met
    assert held_pace(task, block)[0] == pytest.approx(np.full(sizing.setting.draws.n, pace))


def test_nothing_slows_work_without_a_floor(sized, by_id, classes):
    """Where slowing down does not help, the usual speed is held by whoever does the work."""
    sizing = sized(CUT)
    task = slowed(sizing, 30.0, 40.0)
    task = replace(task, demands=(replace(task.demands[0], floor=None, least_pace=1.0),))
    block = sizing.score([by_id["utility-92-4wd"]], classes)[0].offer.block
    assert (held_pace(task, block) == 1.0).all()


def test_a_stronger_tractor_is_never_slower(sized, by_id, classes):
    """More PTO power holds as much speed or more, in every draw."""
    sizing = sized(CUT)
    task = slowed(sizing, 20.0, 60.0)
    paces = [
        held_pace(task, sizing.score([replace(by_id["utility-50-4wd"], pto_power_kw=has)], classes)[0].offer.block)
        for has in (15.0, 25.0, 40.0, 59.0, 80.0)
    ]
    assert all((after >= before).all() for before, after in pairwise(paces))


def test_a_wagon_goes_slower_and_is_hauled(sized, by_id, classes):
    """Less power than the usual speed asks hauls a wagon more slowly, down to a useful speed; a said speed is held."""
    haul = Task("haul", "flat_wagon", load_kg=exact(4536.0))
    shares = {}
    for name, task in (("usual", haul), ("said", replace(haul, speed_km_h=exact(20.0)))):
        sizing = sized(task)
        block = sizing.score([replace(by_id["utility-50-4wd"], pto_power_kw=33.0)], classes)[0].offer.block
        shares[name] = task_outcome(sizing.tasks[0], block).met.mean(), held_pace(sizing.tasks[0], block).mean()
    assert shares["usual"][0] == 1.0
    assert 0.7 < shares["usual"][1] < 1.0
    assert shares["said"][0] < 0.1
