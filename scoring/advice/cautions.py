"""The usual cautions beside a result, and what else the adviser should check about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.advice.checks import checks
from evener.scoring.core.printing import Units, show
from evener.scoring.place.slopes import slope

if TYPE_CHECKING:
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing

STEEP = 0.15
HIGH_M = 600.0
SMALLER_THAN_TRADE = 0.95


def cautions(sizing: Sizing, best: Score | None, units: Units) -> list[str]:
    """Return what to say beside the result: checks on this job first, then the usual cautions that concern it."""
    said = [caution for task in sizing.tasks for caution in task.cautions]
    if best is not None:
        said += _below_trade(sizing, best, units)
        said += checks(sizing, best.offer, units)
    concerns = _concerns(sizing)
    said += [row["text"] for row in sizing.setting.library.tables["caution"] if row["concerns"] in concerns]
    return said


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
