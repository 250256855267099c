"""The usual cautions beside a result, and what else the adviser should check about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.advice.checks import checks, dangers
from evener.scoring.core.printing import Units, show
from evener.scoring.place.slopes import slope

if TYPE_CHECKING:
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing

STEEP = 0.15
HIGH_M = 600.0
# What kills and maims beside tractors stands before what only spoils the work.
VITAL = frozenset(
    ["rollover", "pto_guard", "bales", "thrown_objects", "standby", "buried_lines", "subframe", "slope", "raised_load"]
)
SMALLER_THAN_TRADE = 0.95


def cautions(sizing: Sizing, best: Score | None, units: Units) -> list[str]:
    """Return what to say beside the result: what is not permitted here, what maims, what else to look at."""
    said = [caution for task in sizing.tasks for caution in task.cautions]
    said += dangers(sizing, best.offer, units) if best is not None else []
    concerns = _concerns(sizing)
    usual = [row for row in sizing.setting.library.tables["caution"] if row["concerns"] in concerns]
    said += [row["text"] for row in usual if row["caution"] in VITAL]
    if best is not None:
        said += _below_trade(sizing, best, units)
        said += checks(sizing, best.offer, units)
    return [*said, *(row["text"] for row in usual if row["caution"] not in VITAL)]


def _below_trade(sizing: Sizing, best: Score, units: Units) -> list[str]:
    """Say where the trade usually puts a larger tractor before a carried or drawn machine than the first one listed."""
    power = best.offer.tractor.pto_power_kw
    return [
        f"{task.task}: the trade usually puts a tractor of about {show(task.trade_kw, 'kW', units)} to this machine; "
        f"{best.offer.tractor.label} has {show(power, 'kW', units)}. Check its balance and brakes."
        for task in sizing.tasks
        if task.trade_kw is not None and power is not None and power < task.trade_kw * SMALLER_THAN_TRADE
    ]


def _concerns(sizing: Sizing) -> set[str]:
    setting = sizing.setting
    found = {"any"} | {demand.axis for task in sizing.tasks for demand in task.demands}
    for task in setting.job.tasks:
        found |= {task.family, setting.family(task).group}
        if task.family == "bale_spear":
            found.add("bale")
        if setting.attachment(task) == "trailed":
            found.add("trailed")
        if slope(setting, task).high >= STEEP:
            found.add("steep")
    altitude = setting.job.place.altitude_m.high
    if altitude is not None and altitude > HIGH_M:
        found.add("high")
    return found
