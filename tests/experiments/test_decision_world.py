"""The decision world: the same customers come again, more never hurts, and its sums are those it says."""

import dataclasses

import numpy as np
import pytest

import evener
from experiments.decision_world import rules_of_thumb
from experiments.decision_world.bound import best_on
from experiments.decision_world.by_tool import Adviser
from experiments.decision_world.figures import machines, rows, tractors
from experiments.decision_world.money import owning, price, years
from experiments.decision_world.needs import asked_hp, done, people
from experiments.decision_world.reckoning import Choice, deciles, tallies
from experiments.decision_world.sheets import answered, as_said, as_told
from experiments.decision_world.truths import others, population

GEARS_DOWN, DOES_NOT = people()


@pytest.fixture(scope="module")
def some():
    """Thirty customers with what is so."""
    return list(population(30, 7))


def test_the_same_seed_gives_the_same_customers(some):
    """Customers and what is so are the same each time, and others with another seed."""
    assert list(population(30, 7)) == some
    assert list(population(30, 8)) != some


def test_every_figure_has_a_source_and_a_status():
    """Every figure of the world says where it is from and how well it is known."""
    for name in ("ratings", "effects", "statics", "money", "prices", "remaining_value"):
        assert all(row["source"] and row["status"] in STATUSES for row in rows(name)), name


STATUSES = {"published", "practice", "memory", "invented"}


def test_what_is_drawn_anew_agrees_with_what_is_said(some):
    """Other truths of a customer keep to what was said: the span of stems, the growth, the slope."""
    for customer, _ in some:
        for truth in others(customer, 5, 3):
            if customer.slope is not None:
                assert customer.slope[0] <= truth.slope <= customer.slope[1]
            for job in customer.jobs:
                behind = truth.jobs[job.name]
                assert job.growth in {None, behind.growth}
                assert job.stems is None or behind.stems_in <= max(job.stems[1], 0.5)
                assert job.chance < 1 or behind.comes


def test_people_who_do_not_gear_down_want_no_less(some):
    """Those who do not gear down never want less, and a tractor that does for them does for the others."""
    for customer, truth in some:
        for job in customer.jobs:
            assert asked_hp(job, truth, DOES_NOT) >= asked_hp(job, truth, GEARS_DOWN)
            for tractor in tractors():
                if done(tractor, job, truth, DOES_NOT).does:
                    assert done(tractor, job, truth, GEARS_DOWN).does


def test_a_stronger_tractor_of_the_same_build_does_no_less(some):
    """With more power and nothing else changed, everything that was done still is."""
    for customer, truth in some:
        for job in customer.jobs:
            for tractor in tractors()[::4]:
                stronger = dataclasses.replace(tractor, pto_hp=1.3 * tractor.pto_hp)
                assert done(stronger, job, truth, DOES_NOT).does >= done(tractor, job, truth, DOES_NOT).does


def test_prices_follow_the_table_and_larger_tractors_cost_more_to_own():
    """A tractor of 40 kW costs what its row says, four wheels driven, and owning costs more the larger it is."""
    four_wheels = [one for one in tractors() if one.drive == "4wd"]
    at_row = dataclasses.replace(four_wheels[0], pto_hp=40 / 0.745699872)
    assert price(at_row) == pytest.approx(46000)
    costs = [owning(one, 200) for one in four_wheels]
    assert costs == sorted(costs)
    # 8 years at 6 %: recovery 0.16104; what is left of 46,000 by 0.981 - 0.093 x 8^0.5 - 0.0058 x 200^0.5, squared.
    left = 46000 * (0.981 - 0.093 * 8**0.5 - 0.0058 * 200**0.5) ** 2
    worn = 46000 * 0.003 * 1.6**2 / 8
    assert owning(at_row, 200) == pytest.approx((46000 - left) * 0.161036 + left * 0.06 + 690 + worn, rel=1e-4)


def test_no_choice_beats_the_least_and_the_bound_beats_the_rules_of_thumb(some):
    """Nothing costs less than the best class; on the average the bound loses less than any rule of thumb."""
    lost = {}
    for customer, truth in some:
        reality = years(customer, truth, GEARS_DOWN)
        drawn = others(customer, 24, 1)
        picks = rules_of_thumb.picks(customer, drawn, GEARS_DOWN) | {"bound": best_on(customer, drawn, GEARS_DOWN)}
        for rule, pick in picks.items():
            lost.setdefault(rule, []).append(reality.of(pick).costs - reality.least)
    assert min(map(min, lost.values())) >= 0
    means = {rule: np.mean(values) for rule, values in lost.items()}
    assert min(means, key=means.get) == "bound"


def test_ratings_are_those_of_the_nearest_records(some):
    """A 6 ft cutter for 2 to 3 in stems has the rating of the record for 3 in, a 4 x 5 baler those of its size."""
    customer = some[0][0]
    job = dataclasses.replace(customer.jobs[0], machine=machines()["rotary_cutter", "6"], stems=(2.0, 3.0))
    assert rules_of_thumb.rating(job) == 40
    baler = dataclasses.replace(job, machine=machines()["round_baler", "4x5"], stems=None)
    assert rules_of_thumb.rating(baler) == 67.5  # of 45, 60, 75 and 95


def test_sheets_can_be_sized_and_questions_answered(some, library_store, tmp_path):
    """What is said and what is told are sheets without a mistake, and answers to what can be known are taken."""
    store = evener.open(library_store)
    for customer, truth in some[:8]:
        for name, text in (("said", as_said(customer)), ("told", as_told(customer, truth))):
            sheet = tmp_path / f"{name}.toml"
            sheet.write_text(text, encoding="utf-8")
            assert store.read_job(sheet).tasks
        assert answered(customer, truth, "place.slope") == f"{100 * truth.slope:.1f} %"
        assert answered(customer, truth, "place.moon") is None
        cutter = next((job for job in customer.named if job.machine.family == "rotary_cutter"), None)
        if cutter is not None:
            stems = answered(customer, truth, "rotary-cutter.stems")
            sheet.write_text(as_said(customer), encoding="utf-8")
            asked = store.enquiry(sheet).with_answer("rotary-cutter.stems", stems)
            task = next(one for one in asked.job.tasks if one.name == "rotary cutter")
            assert task.stem_m.middle == pytest.approx(0.0254 * truth.jobs["rotary cutter"].stems_in, abs=3e-4)


@pytest.mark.ci
def test_the_tool_is_asked_through_its_front_door(some, library_store, tmp_path):
    """A pick, picks after questions and chances come out for a customer."""
    adviser = Adviser(evener.open(library_store), tmp_path)
    customer, truth = some[2]
    assert adviser.on_said(customer) in {None, *tractors()}
    after = dict(adviser.asking(customer, truth, 1))
    assert set(after) == {"1 asked", "3 asked", "5 asked", "1 random", "3 random", "5 random"}
    assert all(0 <= one.printed <= 1 for one in adviser.chances(customer, truth))


def test_tallies_and_deciles_count():
    """Means and shares are those of the choices, and chances fall in their tenth."""
    choices = [
        Choice(0, "A", "one", "x", 100.0, unsafe=True, rungs=-2, no_pick=False),
        Choice(1, "A", "one", "y", 300.0, unsafe=False, rungs=2, no_pick=True),
    ]
    (found,) = tallies("all", choices)
    assert (found.lost, found.unsafe, found.short, found.large, found.no_pick) == (200, 0.5, 0.5, 0.5, 0.5)
    assert found.error == pytest.approx(100)
    true = deciles([(0.05, False), (0.55, True), (0.52, False), (1.0, True)])
    assert [(one.low, one.questions, one.changed) for one in true] == [(0.0, 1, 0.0), (0.5, 2, 0.5), (0.9, 1, 1.0)]
