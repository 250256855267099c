"""Published formulas as pure functions: SI floats or arrays in, SI out; one source each.

The modules below are the chapters. Each function carries its equation, source, status and validity, and enters itself
in `methods.METHODS`; `methods.load_all` opens every chapter.
"""

from __future__ import annotations

CHAPTERS: tuple[str, ...] = (
    "rotary_power",
    "draft",
    "drawbar",
    "shaft",
    "power_flow",
    "grade",
    "slip",
    "traction",
    "gee_clough",
    "tractor_pull",
    "weight_transfer",
    "lift",
    "loader",
    "balance",
    "ballast",
    "rollover",
    "bales",
    "liquids",
    "bulk",
    "snow",
    "hydraulics",
    "towing",
    "work_rate",
    "baler_rate",
    "fuel",
    "cost",
)
