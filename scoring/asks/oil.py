"""Hydraulic oil a machine asks: flow at the remotes, and the power of machines that use it all the time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.gates import nearest
from evener.scoring.core.demand import Demand, nothing
from evener.scoring.core.trace import Step, applied, step
from evener.scoring.mechanics.engine import hydraulics

if TYPE_CHECKING:
    from evener.schema.records import Implement, Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting

STEADY = "steady"


def flow_asked(setting: Setting, task: Task) -> Demand | None:
    """Return the oil flow asked [L/min], or None for a machine that asks none or works on the loader's own valve.

    A size without a record asks about what the nearest record of its family asks.
    """
    record = setting.record(task)
    near = record or nearest(setting, task) or _middle(setting, task)
    if near is None or not near.hydraulic_flow_l_min or setting.attachment(task) == "loader":
        return None
    exact = record is not None
    spread = np.ones(setting.draws.n) if exact else setting.allowance("nearest_flow")
    flow = near.hydraulic_flow_l_min * spread
    words = "oil flow its record gives" if exact else f"oil flow of the nearest record, {near.label}"
    written = step(words, {}, (flow, "L/min"), source=near.source_id, status=near.status)
    return Demand(task.name, "hydraulic_flow", flow, nothing(setting.draws.n), None, "listed", (written,))


def _middle(setting: Setting, task: Task) -> Implement | None:
    """Return the middle record of a family that no size tells apart and that works by oil, else None."""
    if setting.family(task).hydraulics != STEADY:
        return None
    peers = sorted(
        (peer for peer in setting.peers(task) if peer.hydraulic_flow_l_min),
        key=lambda peer: (peer.hydraulic_flow_l_min or 0.0, peer.implement_id),
    )
    return peers[len(peers) // 2] if peers else None


def oil_power(setting: Setting, task: Task, flow: Demand | None) -> tuple[Array, list[Step]]:
    """Return the power of the oil at PTO equivalent [kW]: nothing for a machine that moves a cylinder now and then."""
    if flow is None or setting.family(task).hydraulics != STEADY:
        return np.zeros(setting.draws.n), []
    pressure = setting.allowance("hydraulic_pressure")
    power = np.asarray(hydraulics.hydraulic_power(pressure, q=flow.alpha))
    inputs: dict[str, tuple[Array | float | str, str]] = {"p": (pressure, "kPa"), "q": (flow.alpha, "L/min")}
    return power, [applied("hydraulics.hydraulic_power", inputs, (power, "kW"))]
