"""What fills a tank or a bucket: liquids and loose material, by volume and the table's span of density."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_task, of_trade
from evener.scoring.mechanics.quantities import cubic_metres
from evener.scoring.mechanics.work import bulk, liquids
from evener.scoring.place.sizes import need

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.trace import Step
    from evener.scoring.place.sizes import Size

LIQUID = "liquid"
LOOSE_SOIL_KG_M3 = 1442.0


@dataclass(frozen=True)
class Load:
    """A mass with how it came about.

    Attributes
    ----------
    mass_kg : draws [kg]
    """

    mass_kg: Array
    steps: tuple[Step, ...]
    text: str


def stated(setting: Setting, what: str, known: Size) -> Load:
    """Return a mass that is said or recorded [kg]."""
    trace = setting.trace()
    trace.given(f"{what} ({known.text})", known.values, "kg", source=known.source, status=known.status)
    return Load(known.values, trace.steps, known.text)


def liquid(setting: Setting, task: Task) -> Load:
    """Return the mass of a full tank [kg]."""
    tank = need(setting, task, "tank_l")
    name = task.liquid or "water"
    rows = setting.library.rows("material_density", material="spray/tank liquid", condition=name)
    if not rows:
        raise CannotSize(task.name, f"the density of {name!r} is not in material_density", "Name a liquid of the table")
    densities = [row["density_kg_m3"] for row in rows]
    source, status = rows[0]["source_id"], rows[0]["status"]
    fact = of_trade(f"density/{name}", unit="kg/m3", source=source, status=status)
    density = setting.unknowns.uniform(fact, min(densities), max(densities))
    trace = setting.trace()
    mass = trace.call(liquids.tank_mass, f"a tank of {name}", source=source, status=status)(tank.values, rho=density)
    return Load(np.asarray(mass), trace.steps, f"{tank.text} of {name}")


def holds_liquid(setting: Setting, task: Task) -> bool:
    """Return whether a tank said of a task's machine is one of liquid: else it is the room for its material."""
    holds = setting.family(task).holds
    return task.liquid is not None or not holds or LIQUID in holds


def material_of(setting: Setting, task: Task) -> str | None:
    """Return the loose material a task's machine holds: said, else what such machines usually hold."""
    return task.material or next((one for one in setting.family(task).holds if one != LIQUID), None)


def loose(setting: Setting, task: Task) -> Load:
    """Return the mass of one load of loose material [kg]."""
    record = setting.record(task)
    if task.load_kg is not None or (task.material is None and record is not None and record.payload_kg is not None):
        return stated(setting, "load of one bucket", need(setting, task, "payload_kg"))
    name = material_of(setting, task)
    holder = "bucket" if setting.family(task).power == "loader" else setting.family(task).label.casefold()
    if name is None:
        raise CannotSize(task.name, f"what the {holder} holds is not known", "Say material, or load")
    low, high, source, status = density_of(setting, task, name)
    fact = of_task(
        task.name,
        "density",
        drawn_as=f"density/{name}",
        asks="payload_kg",
        unit="kg/m3",
        text=f"a {holder} of {name}",
        source=source,
        status=status,
    )
    density = setting.unknowns.uniform(fact, low, high)
    trace = setting.trace()
    if task.volume_m3 is None and task.tank_l is None and record is not None and record.payload_kg is not None:
        held = trace.call(bulk.heap_volume, "bucket, from its load of soil")(record.payload_kg, rho=LOOSE_SOIL_KG_M3)
        volume = np.full(setting.draws.n, held)
    elif task.volume_m3 is None and task.tank_l is not None:
        volume = np.asarray(cubic_metres(need(setting, task, "tank_l").values))
    else:
        volume = need(setting, task, "volume_m3").values
    mass = trace.call(bulk.heap_mass, f"a {holder} of {name}", source=source, status=status)(volume, rho=density)
    return Load(np.asarray(mass), trace.steps, f"a {holder} of {name}")


def density_of(setting: Setting, task: Task, name: str) -> tuple[float, float, str, str]:
    """Return low and high density [kg/m3] of "material" or "material, condition", with source and status."""
    rows = [
        row
        for row in setting.library.tables["material_density"]
        if name in (row["material"], f"{row['material']}, {row['condition']}")
    ]
    values = [row[c] for row in rows for c in ("density_kg_m3", "density_low_kg_m3", "density_high_kg_m3") if row[c]]
    if not values:
        raise CannotSize(
            task.name, f"the density of {name!r} is not in material_density", "Name a material of the table"
        )
    return min(values), max(values), rows[0]["source_id"], rows[0]["status"]
