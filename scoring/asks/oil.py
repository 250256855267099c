"""Hydraulic oil a machine asks: flow at the remotes, and the power of machines that use it all the time."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.demand import Demand, nothing
from evener.scoring.mechanics.engine import hydraulics
from evener.scoring.place.loads import LEAST_RECORDS, sized_by
from evener.scoring.place.machines import nearest
from evener.scoring.ratings.rising import rising
from evener.scoring.ratings.sizes import size_of

if TYPE_CHECKING:
    from evener.schema.records import Implement, Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace

STEADY = "steady"


def flow_asked(setting: Setting, task: Task) -> Demand | None:
    """Return the oil flow asked [L/min], or None for a machine that asks none or works on the loader's own valve.

    A size without a record asks about what records of its family ask at that size.
    """
    record = setting.record(task)
    near = record or nearest(setting, task) or _middle(setting, task)
    if near is None or not near.hydraulic_flow_l_min or setting.attachment(task) == "loader":
        return None
    n, trace = setting.draws.n, setting.trace()
    if record is not None:
        flow = np.full(n, near.hydraulic_flow_l_min)
        trace.given("oil flow its record gives", flow, "L/min", source=near.source_id, status=near.status)
    else:
        words = f"oil flow of machines of its size, such as {near.label}"
        of_near = trace.call(hydraulics.flow_near, words, source=near.source_id, status=near.status)
        flow = np.asarray(of_near(_by_size(setting, task, near), k=setting.allowance("nearest_flow")))
    return Demand(task.name, "hydraulic_flow", flow, nothing(n), None, "listed", trace.steps)


def _by_size(setting: Setting, task: Task, near: Implement) -> float:
    """Return the flow of machines carried alike at a task's size, which never falls as they grow [L/min]."""
    name = setting.family(task).first_variable
    own = sized_by(setting, task, name) if name is not None else None
    peers = [(size_of(one, name), one.hydraulic_flow_l_min) for one in setting.peers(task)] if name else []
    stated = [(math.log(x), flow) for x, flow in peers if x and flow]
    if own is None or len(stated) < LEAST_RECORDS:
        return float(near.hydraulic_flow_l_min or 0.0)
    of_size: dict[float, list[float]] = {}
    for at, flow in stated:
        of_size.setdefault(round(at, ndigits=9), []).append(flow)
    sizes = sorted(of_size)
    flows = rising([float(np.mean(of_size[at])) for at in sizes])
    return float(np.interp(math.log(np.median(own.values)), sizes, flows))


def _middle(setting: Setting, task: Task) -> Implement | None:
    """Return the middle record of a family that no size tells apart and that works by oil, else None."""
    if setting.family(task).hydraulics != STEADY:
        return None
    peers = sorted(
        (peer for peer in setting.peers(task) if peer.hydraulic_flow_l_min),
        key=lambda peer: (peer.hydraulic_flow_l_min or 0.0, peer.implement_id),
    )
    return peers[len(peers) // 2] if peers else None


def oil_power(setting: Setting, task: Task, flow: Demand | None, trace: Trace) -> Array | None:
    """Return the power of the oil at PTO equivalent [kW]; None for a machine that moves a cylinder now and then."""
    if flow is None or setting.family(task).hydraulics != STEADY:
        return None
    pressure = setting.allowance("hydraulic_pressure")
    return np.asarray(trace.call(hydraulics.hydraulic_power)(pressure, q=flow.alpha))
