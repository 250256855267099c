"""Published formulas as pure functions: SI floats or arrays in, SI out; one source each.

The modules below are the chapters. Each function carries its equation, source, status and validity, and enters itself
in `methods.METHODS`; `methods.load_all` opens every chapter.
"""

from __future__ import annotations

CHAPTERS: tuple[str, ...] = (
    "engine.rotary_power",
    "work.draft",
    "engine.drawbar",
    "engine.moving",
    "engine.rating",
    "engine.shaft",
    "engine.power_flow",
    "tyres.grade",
    "tyres.slip",
    "tyres.traction",
    "tyres.second_traction",
    "tyres.tractor_pull",
    "tyres.weight_transfer",
    "stance.machine_mass",
    "stance.lift",
    "stance.loader",
    "stance.balance",
    "stance.ballast",
    "stance.rollover",
    "work.bales",
    "work.liquids",
    "work.bulk",
    "work.snow",
    "engine.hydraulics",
    "stance.towing",
    "work.land",
    "work.flow",
    "work.work_rate",
    "work.baler_rate",
    "engine.fuel",
    "work.cost",
)
