"""Towed mass against tractor mass, by brakes and speed. The law of the place comes first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Demand, nothing
from evener.scoring.core.trace import Step, step
from evener.scoring.core.unknowns import of_machine, of_task
from evener.scoring.place import masses
from evener.scoring.place.ground import by_choice
from evener.scoring.place.terms import Towing

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting
    from evener.scoring.place.materials import Load
    from evener.scoring.place.sizes import Size

UNBRAKED = "none"
BRAKED = "braked"
FIELD_MACHINE = (UNBRAKED,)


def brakes_of(setting: Setting, task: Task) -> tuple[str, ...]:
    """Return what brakes the towed machine may have: said, recorded, or what its family may have."""
    if task.brakes is not None:
        return task.brakes.among
    record = setting.record(task)
    if record is not None and record.brakes is not None:
        return (record.brakes,)
    possible = setting.family(task).brakes or FIELD_MACHINE
    # What is still to be chosen is chosen with brakes; the answer says so.
    return (BRAKED,) if BRAKED in possible and not task.have else possible


def tow_mass(setting: Setting, task: Task, speed: Size | None, empty: Load, full: Load | None) -> Demand:
    """Return the mass towed [kg], loaded."""
    mass = empty.mass_kg + (full.mass_kg if full else 0.0)
    among = brakes_of(setting, task)
    fastest = speed.high if speed is not None else 0.0
    rules = {word: rule(setting, word, fastest) for word in among}
    ratios = {word: np.full(setting.draws.n, row["mass_ratio_max"]) for word, row in rules.items()}
    fact = of_machine(setting.job, task, "brakes", of_task(task.name, "brakes", text=" or ".join(among)))
    ratio = by_choice(setting, fact, among, ratios)
    strictest = min(rules.values(), key=lambda row: float(row["mass_ratio_max"]))
    inputs: dict[str, tuple[Array | float | str, str]] = {
        "empty": (empty.mass_kg, "kg"),
        "load": (full.mass_kg if full else 0.0, "kg"),
    }
    total = step("towed mass = empty + load", inputs, (mass, "kg"), source="PRACTICE", status="practice")
    steps: tuple[Step, ...] = (*empty.steps, *(full.steps if full else ()), total)
    terms = Towing(f"{task.name}/{'/'.join(among)}/{fastest:g}", ratio, strictest["source_id"], strictest["status"])
    partly, least = masses.partly_full(setting, task)
    zero = nothing(setting.draws.n)
    return Demand(
        task.name,
        "tow_mass",
        mass,
        zero,
        None,
        "towed",
        steps,
        notes=_notes(task, among),
        terms=terms,
        floor=None if partly is None else (partly, zero),
        least_load=least,
    )


def rule(setting: Setting, brakes: str, fastest_km_h: float) -> Row:
    """Return the row of the towing table that gives the mass ratio for these brakes at this speed.

    Faster than any row of theirs, unbraked machines keep the ratio of the slower speed, and a note says so.
    """
    rows = [row for row in setting.library.rows("towing", brake_on_towed=brakes) if row["mass_ratio_max"] is not None]
    rows.sort(key=lambda row: float(row["speed_max_km_h"]))
    fitting = [row for row in rows if row["speed_max_km_h"] >= fastest_km_h]
    return fitting[0] if fitting else rows[-1]


def _notes(task: Task, among: tuple[str, ...]) -> tuple[str, ...]:
    if task.brakes is None and among == FIELD_MACHINE:
        return ("field machines are taken as unbraked: say brakes where it has them",)
    if task.brakes is None and among == (BRAKED,):
        return ("taken as braked: choose one with brakes of its own, or say brakes",)
    return ()
