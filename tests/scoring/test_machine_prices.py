"""What a machine still to be bought costs, and where it stands in the sum of a tractor."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evener.schema.money import Money
from evener.schema.records import JobSheet, LandUse, Machine, Place, Quantity, Task
from evener.scoring.core.draws import Draws
from evener.scoring.decision.cheapest import decide
from evener.scoring.decision.sizing import size_job
from evener.scoring.mechanics.work import cost
from evener.scoring.money.machines import Wanted, bought, price_of
from evener.scoring.money.terms import terms


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


MOW = Task("mow", "disc_mower", width_m=exact(2.4), land="hay", times_per_year=2.0)
BALE = Task("bale", "round_baler", bale_width_m=exact(1.22), bale_diameter_m=exact(1.52), hours_h=exact(10.0))


@pytest.fixture(scope="module")
def decided(library, classes):
    """Decide a job of tasks with what money its sheet states; return the decision and the cost of one large class."""
    large = next(one for one in classes if one.tractor_id == "row-crop-125-4wd")

    def find(*tasks, money=None, machines=()):
        place = Place("a place", land=(LandUse("hay", exact(10.0)),), slope=exact(0.03))
        job = JobSheet(place, tasks, implements=machines, money=money or Money())
        decision = decide(size_job(job, library, Draws(64)), classes)
        return decision, decision.cost([large])[0]

    return find


def test_prices_go_by_size_duty_and_build(library):
    """At a size of the table the price is the table's; a light cutter and a no-till drill differ as custom has it."""
    usual = terms(Money(), library)

    def price(*what):
        return price_of(Wanted(*what), library, Money(), usual).amount

    assert price("rotary_cutter", 1.2) == pytest.approx(1200)
    assert price("rotary_cutter", 1.2, "heavy") == pytest.approx(1.5 * 1200)
    assert price("grain_drill", 1.8, None, "no-till") == pytest.approx(1.4 * 12000)
    assert 350 < price("bale_spear", 1.0) < 2200
    assert price_of(Wanted("forage_harvester", 1.2), library, Money(), usual) is None


def test_a_year_of_a_machine_is_by_the_published_equations(library):
    """Capital recovery, taxes and repair of a baler, redone by the formulas one by one."""
    usual = terms(Money(), library)
    wanted = Wanted("round_baler", 1.4)
    one = bought("baler", wanted, {"bale": 50.0}, price_of(wanted, library, Money(), usual), library, usual)
    left = 27000 * cost.remaining_value(8.0, h=0.0, C_1=0.852, C_2=0.101, C_3=0.0)
    capital = cost.capital_recovery(27000, S=left, CRF=cost.capital_recovery_factor(0.06, n=8.0), i=0.06)
    assert one.ownership == pytest.approx(capital + 0.02 * (27000 + left) / 2)
    assert one.repair == pytest.approx(0.43 * 27000 * 0.4**1.8 / 8)


def test_every_family_with_a_price_has_its_published_rows(library):
    """Each family of the price table is worth and is repaired as a row that there is."""
    usual = terms(Money(), library)
    for row in library.tables["machine_prices"]:
        wanted = Wanted(row["family"], row["size_low"])
        one = bought("it", wanted, {"work": 20.0}, price_of(wanted, library, Money(), usual), library, usual)
        assert 0.05 * row["price_low"] < one.a_year < 0.5 * row["price_low"]


def test_listed_work_buys_its_machine_once_for_all_it_does(decided):
    """Two tasks of one machine buy it once; one that is had costs nothing; the sheet's own price goes first."""
    alone, one = decided(MOW)
    mower = Machine("mower", "disc_mower", width_m=exact(2.4))
    shared, both = decided(
        replace(MOW, machine="mower"), replace(MOW, name="again", machine="mower"), machines=(mower,)
    )
    assert both.machines == pytest.approx(one.machines, rel=0.2)
    assert [list(each.tasks) for each in shared.work.machines] == [["mow", "again"]]
    assert decided(replace(MOW, have=True))[1].machines == 0
    said, _ = decided(MOW, money=Money(machines={"disc_mower": 9000.0}))
    assert (said.work.machines[0].price.amount, said.work.machines[0].price.basis) == (9000.0, "sheet")
    assert alone.work.machines[0].price.basis == "custom"


def test_what_may_be_hired_is_hired_where_its_machine_costs_more(decided):
    """Ten hours of baling a year pay no baler: with a tractor that could, it is hired; a baler that is had is used."""
    may = replace(BALE, hire=True)
    _, dear = decided(MOW, may)
    _, had = decided(MOW, replace(may, have=True))
    by_name = [{task.task: task for task in one.tasks}["bale"] for one in (dear, had)]
    assert by_name[0].does == by_name[1].does == 1.0
    assert by_name[0].hired > 0 == by_name[0].machine == by_name[0].running
    assert by_name[1].running > 0 == by_name[1].hired
