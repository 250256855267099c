"""What height above the sea costs: ratings are for sea level, and an engine without a turbocharger gives less."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.trace import Step, applied
from evener.scoring.mechanics.engine import power_flow

if TYPE_CHECKING:
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting


def left_of_power(setting: Setting) -> tuple[Array, tuple[Step, ...]]:
    """Return the share of the rated power that is left at the place [1], with its step.

    Whether the engine has a turbocharger is not known: the loss is drawn from none to that of one without. Below sea
    level nothing is gained; a height nobody knows is drawn from its prior.
    """
    given = setting.job.place.altitude_m
    if given.low is None or given.high is None:
        row = setting.library.row("prior", quantity="altitude_m", family=None)
        height = setting.draws.uniform("place/altitude_m", row["low"], row["high"])
    else:
        height = setting.draws.quantity("place/altitude_m", given)
    height = np.clip(height, 0.0, 4000.0)
    if not np.any(height > 0):
        return np.ones(setting.draws.n), ()
    loss = setting.allowance("altitude_loss")
    left = np.asarray(power_flow.power_at_altitude(1.0, z=height, k=loss))
    row = setting.library.allowance("altitude_loss")
    written = applied(
        "power_flow.power_at_altitude",
        {"P": (1.0, "1"), "k": (loss, "1"), "z": (height, "m")},
        (left, "1"),
        what="share of the power left at the place; turbocharger or not is not known",
        source=row["source_id"],
        status=row["status"],
    )
    return left, (written,)
