"""Hours and days: field capacity, bales an hour, and whether the days there are suffice."""

from dataclasses import replace

import answers
import pytest

from evener.schema.records import JobSheet, LandUse, Place, Quantity, Task
from evener.scoring.combinations.work_time import pace, work
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


LAND = (LandUse("hay", exact(12.0)),)
MOW = Task("mow", "disc_mower", width_m=exact(2.4), speed_km_h=exact(10.0), land="hay", times_per_year=2.0)
BALE = Task(
    "bale",
    "round_baler",
    bale_width_m=exact(1.22),
    bale_diameter_m=exact(1.52),
    land="hay",
    yield_t_ha=exact(4.0),
    throughput_t_h=exact(12.0),
)


def of(*tasks, n=256, hours=8.0, library):
    job = JobSheet(Place("a place", land=LAND, hours_a_day_h=exact(hours), slope=exact(0.0)), tasks)
    sizing = size_job(job, library, Draws(n))
    return work(sizing.setting, [one.task for one in sizing.tasks], sizing.confidence)


def test_hours_are_area_over_field_capacity(library):
    """EP496: 10 km/h x 2.4 m x 0.80 / 10 is 1.92 ha/h, so 12 ha take 6.25 h, twice a year 12.5 h."""
    (mow,) = of(MOW, library=library)
    assert mow["rate"] == {"unit": "ha/h", "middle": pytest.approx(1.92)}
    assert mow["hours"]["middle"] == pytest.approx(6.25)
    assert mow["hours_a_year"]["middle"] == pytest.approx(12.5)
    assert mow["days_needed"] == pytest.approx(6.25 / 8)
    assert (mow["days_there"], mow["fits"], mow["width_needed"]) == (None, None, None)


def test_a_task_that_fits_no_window_says_what_would(library):
    """Twelve hectares in half a day of 8 h do not fit; the width and the speed named just do."""
    late = replace(MOW, days=exact(0.5))
    (mow,) = of(late, library=library)
    assert (mow["fits"], mow["chance"]) == (False, 0.0)
    for key, name in (("width_needed", "width_m"), ("speed_needed", "speed_km_h")):
        enough = replace(late, **{name: exact(mow[key]["middle"] * 1.0001)})
        (again,) = of(enough, library=library)
        assert again["fits"] is True, key
        less = replace(late, **{name: exact(mow[key]["middle"] * 0.999)})
        assert of(less, library=library)[0]["fits"] is False, key


def test_more_days_than_it_takes_fit(library):
    """The same work in two days fits."""
    assert of(replace(MOW, days=exact(2.0)), library=library)[0]["fits"] is True


def test_a_round_baler_stops_for_each_bale(library):
    """Bales an hour are 3600 over fill time and stop, in the share of the time at work; tonnes follow the bales."""
    (bale,) = of(BALE, n=1, library=library)
    job = JobSheet(Place("a place", land=LAND, slope=exact(0.0)), (BALE,))
    sizing = size_job(job, library, Draws(1))
    mass = sizing.tasks[0].demands[0]
    assert mass.axis == "pto_power"
    one = pace(sizing.setting, BALE)
    stop, share = 32.5, 0.85
    kilograms = one.area_ha_h[0] * 4.0 * 1000 / one.bales_h[0]
    assert bale["bales_per_hour"] == pytest.approx(share * 3600 / (3.6 * kilograms / 12.0 + stop))
    assert bale["hours"]["middle"] == pytest.approx(12.0 * 4.0 * 1000 / kilograms / bale["bales_per_hour"])


def test_heavier_crops_make_a_round_baler_stand_longer(library):
    """At twice the flow a baler makes less than twice the bales."""
    slow = of(BALE, n=1, library=library)[0]["bales_per_hour"]
    fast = of(replace(BALE, throughput_t_h=exact(24.0)), n=1, library=library)[0]["bales_per_hour"]
    assert slow < fast < 2 * slow


def test_said_hours_are_kept_and_work_without_any_is_left_out(library):
    """Hours the sheet says are the hours; a task with neither land nor hours has no time."""
    said = Task("feed", "bale_spear", bale_width_m=exact(1.2), bale_diameter_m=exact(1.5), hours_h=exact(90.0))
    assert of(said, library=library)[0]["hours"]["middle"] == pytest.approx(90.0)
    assert of(replace(said, hours_h=None), library=library) == []


@pytest.mark.ci
def test_the_answer_carries_the_work_in_the_readers_units(library, classes):
    """`rank` gives hours and rates beside their units, and turns them with the others."""
    job = JobSheet(Place("a place", land=LAND, slope=exact(0.0)), (MOW,))
    us, si = (answers.rank(job, library, classes, units=units)["work"][0]["rate"] for units in ("us", "si"))
    assert (us["unit"], si["unit"]) == ("ac/h", "ha/h")
    assert us["middle"] == pytest.approx(si["middle"] / 0.40468564224)


def test_splitting_a_task_in_two_keeps_the_hours(library):
    """Two tasks on half the area each take as long as one on all of it."""
    whole = of(MOW, library=library)[0]["hours"]["middle"]
    halves = of(replace(MOW, area_ha=exact(6.0)), replace(MOW, name="rest", area_ha=exact(6.0)), library=library)
    assert sum(half["hours"]["middle"] for half in halves) == pytest.approx(whole)
