"""What height above the sea costs: ratings are for sea level, and an engine without a turbocharger gives less."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.unknowns import of_place
from evener.scoring.mechanics.engine import power_flow

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Trace

HIGHEST_M = 4000.0


def left_of_power(setting: Setting, trace: Trace) -> Array | None:
    """Return the share of the rated power that is left at the place [1], or None where nothing is lost.

    Whether the engine has a turbocharger is not known: the loss is drawn from none to that of one without. Below sea
    level nothing is gained; a height nobody knows is drawn from its prior.
    """
    height = np.clip(_height(setting), 0.0, HIGHEST_M)
    if not np.any(height > 0):
        return None
    row = setting.library.allowance("altitude_loss")
    what = "share of the power left at the place; turbocharger or not is not known"
    share = trace.call(power_flow.power_at_altitude, what, source=row["source_id"], status=row["status"])
    return np.asarray(share(1.0, z=height, k=setting.allowance("altitude_loss")))


def _height(setting: Setting) -> Array:
    given = setting.job.place.altitude_m
    if given.low is not None and given.high is not None:
        fact = of_place("altitude_m", unit="m", text=given.text, source="job sheet", status="customer")
        return setting.unknowns.uniform(fact, given.low, given.high)
    row = setting.library.row("prior", quantity="altitude_m", family=None)
    text = f"not said; taken from a prior: {row['note']}"
    fact = of_place("altitude_m", unit="m", text=text, source=row["source_id"], status=row["status"])
    return setting.unknowns.uniform(fact, row["low"], row["high"])
