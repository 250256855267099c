"""What combinations do: four verdicts, alike tasks sized once, what fails without a thing."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from evener.ingest.shed.lending import limited
from evener.schema.records import Implement, JobSheet, LandUse, Place, Quantity, Task, Tractor
from evener.schema.shed import Member, Shed, Window
from evener.scoring.core.draws import Draws
from evener.scoring.shed.cells import DOES, DOES_NOT, NOT_KNOWN, WITH, Cell
from evener.scoring.shed.lending import lent
from evener.scoring.shed.losing import losses
from evener.scoring.shed.matrix import matrix

FEW = Draws(n=64)


def exactly(value):
    return Quantity(value, value, "exact", f"{value:g}")


HAY = JobSheet(
    Place("Quince", (LandUse("hay", exactly(10.0)),)),
    (Task("mow", "disc_mower", width_m=exactly(2.4), land="hay"),),
)
WINDOW = Window("mow", dt.date(2027, 6, 1), dt.date(2027, 6, 9))
STRONG = Tractor(
    "STRONG",
    "member",
    "strong",
    owner="A",
    drive="4wd",
    pto_power_kw=70.0,
    pto_speeds_rpm=(540, 1000),
    mass_kg=4500.0,
    hitch_category="2",
    hitch_lift_610_kg=2600.0,
    hydraulic_flow_l_min=60.0,
    rear_remotes=3,
)
MOWER = Implement(
    "MOWER",
    "disc_mower",
    "mower",
    owner="A",
    working_width_m=2.4,
    rated_pto_power_kw=36.0,
    pto_speeds_rpm=(540,),
    mass_kg=560.0,
    centre_of_mass_m=0.85,
    attachment="mounted",
    hitch_category_min="2",
    hitch_category_max="2",
    remotes_needed=1,
)


def shed(*tractors, job=HAY, machines=(MOWER,)):
    members = (Member("A", job, (0.0, 0.0), windows=(WINDOW,)), Member("B", job, (5.0, 0.0), windows=(WINDOW,)))
    return Shed("Quince", members, tractors, machines, first=dt.date(2027, 6, 1), last=dt.date(2027, 6, 30))


@pytest.fixture
def found(library, classes):
    def run(*tractors, **said):
        one = shed(*tractors, **said)
        held = replace(library, implements={**library.implements, **{tool.implement_id: tool for tool in one.machines}})
        return matrix(one, held, classes, draws=FEW)

    return run


def test_a_strong_tractor_does_it(found):
    """What has enough of everything does the task, and its hours are its land over what the mower covers."""
    cell = found(STRONG).cells[0]
    assert cell.verdict in {DOES, WITH}
    assert 3.0 < cell.hours < 9.0


def test_a_weak_tractor_does_not_and_it_is_said_by_how_much(found):
    """What lacks power does not, with the axis, what is asked, what is there, and how far apart they are."""
    cell = found(replace(STRONG, pto_power_kw=25.0)).cells[0]
    assert (cell.verdict, cell.axis, cell.unit) == (DOES_NOT, "pto_power", "kW")
    assert cell.capacity == pytest.approx(25.0)
    assert cell.short == pytest.approx(1 - cell.capacity / cell.need, abs=0.02)


def test_a_hitch_that_does_not_fit_is_a_wall(found):
    """A category 1 tractor does not carry a category 2 mower, whatever else it has."""
    cell = found(replace(STRONG, hitch_category="1")).cells[0]
    assert (cell.verdict, cell.axis) == (DOES_NOT, "hitch_category")


def test_bushings_make_a_larger_hitch_fit(found):
    """A category 3 tractor carries it with an adapter."""
    cell = found(replace(STRONG, hitch_category="3")).cells[0]
    assert cell.verdict == WITH
    assert "adapter" in {remedy.kind for remedy in cell.remedies}


def test_what_decides_and_is_not_stated_is_to_be_read(found):
    """As a mower gets heavier than an assumed lift, it does it, then that is not known, then it does not."""
    silent = replace(STRONG, hitch_lift_610_kg=None)
    cells = [found(silent, machines=(replace(MOWER, mass_kg=mass),)).cells[0] for mass in range(600, 3400, 200)]
    order = [one.verdict for one in cells if one.verdict != WITH]
    assert list(dict.fromkeys(order)) == [DOES, NOT_KNOWN, DOES_NOT]
    read = [plate for one in cells for plate in one.plates]
    assert {plate.field for plate in read} & {"hitch_lift_610_kg", "front_axle"}
    assert all(plate.need is None or plate.need > 0 for plate in read)


def test_alike_tasks_are_sized_once(found):
    """Two members with the same work under the same conditions cost one sizing and have the same verdicts."""
    one = found(STRONG)
    assert one.sized == 1
    mine, yours = one.cells
    assert (mine.task, yours.task) == (0, 1)
    assert (mine.verdict, mine.chance, mine.hours) == (yours.verdict, yours.chance, yours.hours)


def test_a_task_without_a_machine_says_so(found):
    """A task whose kind of machine nobody owns is uncovered, and why is said."""
    one = found(STRONG, machines=())
    assert not one.cells
    assert one.uncovered[0].why == ("no machine of its kind is in the shed",)


def cell(task, tractor, verdict=DOES, hours=10.0):
    return Cell(task=task, tractor=tractor, machine=0, tool="M", verdict=verdict, chance=1.0, hours=hours)


def test_what_fails_without_a_tractor():
    """One task hangs on tractor 0 in all seasons; the other is left without tractor 1 in those where 0 fails."""
    cells = (cell(0, 0, hours=20.0), cell(1, 0), cell(1, 1))
    always, half = np.ones(4, bool), np.array([True, True, False, False])
    met = {0: always, 1: half, 2: always}
    first, second = losses(cells, met, {}, kind="tractor", count=2)
    assert (first.tasks, first.hours, first.seasons) == ((0,), 20.0, 1.0)
    assert (second.tasks, second.seasons, second.tasks_then, second.hours_then) == ((), 0.5, 1.0, 10.0)


def lending(found_by, *, windows, kept=(), with_driver=()):
    """Whose task which tractor does with A's mower, B owning a tractor like A's."""
    one = shed(STRONG, replace(STRONG, tractor_id="OTHER", owner="B"))
    one = replace(
        one,
        members=tuple(replace(member, job=HAY, windows=windows) for member in one.members),
        kept=kept,
        with_driver=with_driver,
    )
    found = lent(one, found_by(one))
    ways = {
        (found.wanted[cell.task].member.name, one.tractors[cell.tractor].tractor_id)
        for cell in found.cells
        if cell.covers
    }
    return ways, [cell for cell in found.cells if not cell.covers], found


def test_what_is_not_lent_does_nothing_elsewhere(library, classes):
    """A machine kept at home on all days of a task does its owner's alone; on fewer days that is for the dates."""
    held = replace(library, implements={**library.implements, MOWER.implement_id: MOWER})

    def by(one):
        return matrix(one, held, classes, draws=FEW)

    every = {(member, tractor) for member in "AB" for tractor in ("STRONG", "OTHER")}
    season = (dt.date(2027, 6, 1), dt.date(2027, 6, 30))
    june, _ = limited([("MOWER", "not lent in June")], *season)
    assert lending(by, windows=(WINDOW,))[0] == every
    ways, barred, found = lending(by, windows=(WINDOW,), kept=june)
    assert ways == {("A", "STRONG"), ("A", "OTHER")}
    assert {one.has for one in barred} == {"MOWER is not lent: 'not lent in June', its remark says"}
    assert set(found.met) == {place for place, cell in enumerate(found.cells) if cell.covers}
    week = tuple(replace(one, last=dt.date(2027, 6, 7)) for one in june)
    assert lending(by, windows=(WINDOW,), kept=week)[0] == every
    _, driven = limited([("MOWER", "with driver only")], *season)
    assert lending(by, windows=(WINDOW,), with_driver=driven)[0] == every - {("B", "OTHER")}
