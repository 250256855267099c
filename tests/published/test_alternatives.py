"""Rival formulas against each other, and the whole way from tool to PTO against a printed table, in stated bands."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from evener.schema.records import Choice, JobSheet, Place, Policy, Quantity, Task
from evener.scoring.asks.pull import gears
from evener.scoring.core.draws import Draws
from evener.scoring.core.setting import Setting
from evener.scoring.decision.sizing import size_job
from evener.scoring.mechanics.tyres import traction
from evener.scoring.place.ground import SURFACE, ground_of

DATA = Path(__file__).parent / "data" / "published.json"
HP, FOOT, MPH, INCH = 0.745699872, 0.3048, 1.609344, 0.0254
MASS_PER_KW = 79.1


def exact(value):
    return Quantity(value, value, "exact", f"{value}")


@pytest.mark.parametrize("soil", ["firm", "tilled", "soft"])
def test_the_traction_model_and_the_power_ratios_agree_on_what_reaches_the_drawbar(library, soil):
    """Best tractive efficiency by the model, through the gears, is within 0.08 of Arizona's PTO-to-drawbar ratios."""
    setting = Setting(JobSheet(Place("a place", soil=Choice((soil,))), ()), library, Draws(1))
    ground = ground_of(setting, Task("t", "moldboard_plow"))
    best = traction.tractive_efficiency(ground.mobility[0], s=traction.best_slip(ground.mobility[0]))
    reaches = best * gears(setting)[0]
    rows = library.rows("power_ratios", from_point="PTO", to_point="drawbar", surface=SURFACE[soil])
    printed = [row["ratio"] for row in rows if row["tractor_type"] in {"2WD", "front wheel assist", "4WD"}]
    assert min(printed) - 0.08 <= reaches <= max(printed) + 0.08


@pytest.mark.parametrize("soil", ["firm", "tilled", "soft"])
def test_the_slip_reckoned_with_costs_little_of_the_best_efficiency(library, soil):
    """At Arizona's printed slip bands the equations still give within 0.02 of their own best efficiency."""
    setting = Setting(JobSheet(Place("a place", soil=Choice((soil,))), ()), library, Draws(64))
    ground = ground_of(setting, Task("t", "moldboard_plow"))
    number = ground.mobility[0]
    best = traction.tractive_efficiency(number, s=traction.best_slip(number))
    assert np.all(traction.tractive_efficiency(number, s=ground.slip) >= best - 0.02)


@pytest.mark.parametrize(
    ("entry", "family", "depth_in", "soil", "tools_per_foot"),
    [
        ("moldboard_8in", "moldboard_plow", 8, "firm", None),
        ("chisel_8in", "chisel_plow", 8, "firm", 1),
        ("tandem_disk_cornstalks", "disk_harrow", 4, "firm", None),
        ("field_cultivator", "field_cultivator", 4, "tilled", 2),
        ("planter_conventional", "row_planter", None, "tilled", 0.4),
    ],
)
def test_power_per_width_is_missouris(library, entry, family, depth_in, soil, tools_per_foot):
    """Missouri G1208 (PTO-01): PTO power per foot by draft, traction and gears is 0.65 to 1.6 of the printed.

    The demand is that of the code, without reserve, for a tractor of the published mass per PTO kW on level loam.
    """
    printed = next(one for one in json.loads(DATA.read_text(encoding="utf-8")) if one["id"] == "PTO-01")
    speed, per_foot, _ = printed["outputs"][entry]
    feet = 10
    task = Task(
        "t",
        family,
        width_m=exact(feet * FOOT),
        speed_km_h=exact(speed * MPH),
        depth_m=exact(depth_in * INCH) if depth_in else None,
        tools=exact(feet * tools_per_foot) if tools_per_foot else None,
        machine_mass_kg=exact(1000.0),
        attachment="trailed",
    )
    place = Place("a place", slope=exact(0.0), soil=Choice((soil,)), texture=Choice(("medium",)))
    sizing = size_job(JobSheet(place, (task,), policy=Policy(reserve_power=0.0)), library, Draws(1))
    demand = next(one for one in sizing.tasks[0].demands if one.axis == "pto_power")
    power = demand.alpha[0] / (1 - demand.beta[0] * MASS_PER_KW)
    assert 0.65 <= power / HP / feet / per_foot <= 1.6


def test_the_trade_puts_about_the_computed_power_before_its_tools(library):
    """The library's rated tractor powers, never pooled with PTO ratings, are 0.5 to 2 of the computed, by family."""
    place = Place("a place", slope=exact(0.0), texture=Choice(("medium",)))
    ratios = {}
    for record in library.implements.values():
        if library.families[record.family].draft_row in {None, "snow|push"} or record.rated_tractor_power_kw is None:
            continue
        task = Task("t", record.family, record.implement_id)
        sizing = size_job(JobSheet(place, (task,)), library, Draws(1))
        demand = next(one for one in sizing.tasks[0].demands if one.axis == "pto_power")
        power = demand.alpha[0] / (1 - demand.beta[0] * MASS_PER_KW)
        ratios.setdefault(record.family, []).append(power / record.rated_tractor_power_kw)
    middle = {family: float(np.median(values)) for family, values in ratios.items()}
    assert len(middle) >= 10
    outside = {family: round(ratio, 2) for family, ratio in middle.items() if not 0.5 <= ratio <= 2.0}
    assert set(outside) <= {"ring_roller", "landscape_rake", "rear_blade", "box_blade"}, outside
