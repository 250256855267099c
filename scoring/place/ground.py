"""What the wheels run on: the soil of a task, with its cone index, mobility and slip, or packed snow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.place.sizes import key

if TYPE_CHECKING:
    from evener.schema.records import Choice, Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting

SURFACE = {"hard": "firm soil", "firm": "firm soil", "tilled": "tilled soil", "soft": "soft soil"}
CONE_ROW = {"hard": "hard", "firm": "firm", "tilled": "tilled", "soft": "soft, sandy"}
BEST_SLIP_ROW = {
    "hard": "firm soil",
    "firm": "firm soil",
    "tilled": "tilled soil",
    "soft": "soft soil and sand",
}
SLIP_GUIDE_ROW = {"2wd": "2WD drive wheels, field", "4wd": "MFWD drive wheels, field"}


@dataclass(frozen=True)
class Ground:
    """The ground of a task.

    Attributes
    ----------
    key : names it
    words : the soils it may be
    cone_index_kpa : draws [kPa]
    mobility : mobility number of a tyre at the table's load, draws [1]
    slip : slip at work, within the band of the best tractive efficiency, draws [1]
    slip_limit : by two-wheel and four-wheel drive [1]
    """

    key: str
    words: tuple[str, ...]
    cone_index_kpa: Array
    mobility: Array
    slip: Array
    slip_limit: dict[str, float]


def soil_of(setting: Setting, task: Task) -> tuple[str, Choice]:
    """Return the soil a task's wheels run on, the task's own or the place's, with the key it is drawn under."""
    return (key(task, "soil"), task.soil) if task.soil is not None else ("place/soil", setting.job.place.soil)


def by_choice(setting: Setting, drawn_as: str, among: tuple[str, ...], arrays: dict[str, Array]) -> Array:
    """Return per draw the array of the word drawn from an open choice."""
    if len(among) == 1:
        return arrays[among[0]]
    index = setting.draws.choice(drawn_as, among)
    return np.choose(index, [arrays[word] for word in among])


def ground_of(setting: Setting, task: Task) -> Ground:
    """Return the ground of a task from the table of soil conditions.

    The limit of slip is the upper end of the makers' guidance for the drive, on any soil.
    """
    drawn_as, soil = soil_of(setting, task)
    draws, n = setting.draws, setting.draws.n
    cones, numbers, slips = {}, {}, {}
    spread = setting.allowance("cone_index")
    for word in soil.among:
        cone, band = _row(setting, CONE_ROW[word]), _row(setting, BEST_SLIP_ROW[word])
        cones[word] = cone["cone_index_kpa"] * spread
        numbers[word] = np.full(n, cone["bn_at_30_kn_per_m2"])
        low, high = band["slip_pct_low"] / 100, band["slip_pct_high"] / 100
        slips[word] = draws.uniform(f"slip/{BEST_SLIP_ROW[word]}", low, high)

    def drawn(arrays: dict[str, Array]) -> Array:
        return by_choice(setting, drawn_as, soil.among, arrays)

    return Ground(
        key=f"{drawn_as}={'/'.join(soil.among)}",
        words=soil.among,
        cone_index_kpa=drawn(cones),
        mobility=drawn(numbers),
        slip=drawn(slips),
        slip_limit={drive: _row(setting, name)["slip_pct_high"] / 100 for drive, name in SLIP_GUIDE_ROW.items()},
    )


def _row(setting: Setting, condition: str) -> dict[str, float]:
    return dict(setting.library.row("soil_conditions", soil_condition=condition))
