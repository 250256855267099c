"""What the wheels run on: the soil of a task, with its cone index, mobility and slip, or packed snow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.records import Choice
from evener.scoring.core.unknowns import of_place, of_task, of_trade
from evener.scoring.mechanics.quantities import from_percent
from evener.scoring.mechanics.tyres.traction import cone_index_met
from evener.scoring.place.variants import draft_row

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting
    from evener.scoring.core.unknowns import Fact

SURFACE = {"hard": "firm soil", "firm": "firm soil", "tilled": "tilled soil", "soft": "soft soil"}
CONE_ROW = {"hard": "hard", "firm": "firm", "tilled": "tilled", "soft": "soft, sandy"}
BEST_SLIP_ROW = {
    "hard": "firm soil",
    "firm": "firm soil",
    "tilled": "tilled soil",
    "soft": "soft soil and sand",
}
SLIP_GUIDE_ROW = {"2wd": "2WD drive wheels, field", "4wd": "front wheel assist drive wheels, field"}


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


def soil_of(setting: Setting, task: Task) -> tuple[Fact, Choice]:
    """Return the soil a task's wheels run on, with what it is drawn as.

    The task's own, else the place's; where nobody says any, worked ground for what sows a prepared seedbed, else firm.
    """
    if task.soil is not None:
        return of_task(task.name, "soil", text=task.soil.text, source="job sheet", status="customer"), task.soil
    soil = setting.job.place.soil
    if not soil.text:
        named, row = draft_row(setting, task), setting.library.allowance("usual_ground", "tilled")
        if named is not None and named.startswith(tuple(row["applies_to"].split(";"))):
            fact = of_task(task.name, "soil", text=row["note"], source=row["source_id"], status=row["status"])
            return fact, Choice((row["level"],), row["note"])
    return of_place("soil", text=soil.text, source="job sheet", status="customer"), soil


def by_choice(setting: Setting, fact: Fact, among: tuple[str, ...], arrays: dict[str, Array]) -> Array:
    """Return per draw the array of the word drawn from an open choice."""
    if len(among) == 1:
        return arrays[among[0]]
    index = setting.unknowns.choice(fact, among)
    return np.choose(index, [arrays[word] for word in among])


def ground_of(setting: Setting, task: Task) -> Ground:
    """Return the ground of a task from the table of soil conditions.

    The limit of slip is the upper end of the makers' guidance for the drive, on any soil.
    """
    return setting.once(task, _ground)


def _ground(setting: Setting, task: Task) -> Ground:
    drawn_as, soil = soil_of(setting, task)
    n = setting.draws.n
    cones, numbers, slips = {}, {}, {}
    spread = setting.allowance("cone_index")
    for word in soil.among:
        cone, band = _row(setting, CONE_ROW[word]), _row(setting, BEST_SLIP_ROW[word])
        cones[word] = np.asarray(cone_index_met(cone["cone_index_kpa"], k=spread))
        numbers[word] = np.full(n, cone["bn_at_30_kn_per_m2"])
        low, high = from_percent(band["slip_pct_low"]), from_percent(band["slip_pct_high"])
        slip = of_trade(f"slip/{BEST_SLIP_ROW[word]}", source=band["source_id"], status=band["status"])
        slips[word] = setting.unknowns.uniform(slip, low, high)

    def drawn(arrays: dict[str, Array]) -> Array:
        return by_choice(setting, drawn_as, soil.among, arrays)

    return Ground(
        key=f"{drawn_as.key}={'/'.join(soil.among)}",
        words=soil.among,
        cone_index_kpa=drawn(cones),
        mobility=drawn(numbers),
        slip=drawn(slips),
        slip_limit={
            drive: from_percent(_row(setting, name)["slip_pct_high"]) for drive, name in SLIP_GUIDE_ROW.items()
        },
    )


def _row(setting: Setting, condition: str) -> Row:
    return setting.library.row("soil_conditions", soil_condition=condition)
