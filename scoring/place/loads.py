"""What a task lifts: bales, liquids, loose material and machines, each with its spread."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.setting import CannotSize
from evener.scoring.core.trace import Step, step
from evener.scoring.mechanics.work import bales, liquids
from evener.scoring.place.sizes import Size, key, need, size, unit_of, variable
from evener.scoring.ratings.least_squares import least_squares
from evener.scoring.ratings.model import size_of

if TYPE_CHECKING:
    from evener.schema.records import Implement, Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting

SAME_SIZE = 0.06
LEAST_RECORDS = 5
LOOSE_SOIL_KG_M3 = 1442.0
HAULING = "hauling"
MOVES_WITHOUT_HOLDING = frozenset({"snow", "grading", "tillage"})


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


def machine(setting: Setting, task: Task) -> Load:
    """Return the empty machine's mass [kg]: said, recorded, or fitted to its family's records."""
    record = setting.record(task)
    if task.machine_mass_kg is not None or (record is not None and record.mass_kg is not None):
        known = need(setting, task, "mass_kg")
        written = step(
            f"mass of the empty machine ({known.text})",
            {},
            (known.values, "kg"),
            source=known.source,
            status=known.status,
        )
        return Load(known.values, (written,), known.text)
    return setting.once(task, _fitted_machine)


def _fitted_machine(setting: Setting, task: Task) -> Load:
    """Return a machine's mass from its size by a power law over the family's records, with the records' scatter."""
    family = setting.family(task)
    peers = [peer for peer in setting.peers(task) if peer.mass_kg is not None]
    name = family.first_variable
    if name and family.group != "handling":
        sized = [(has, peer.mass_kg) for peer in peers if (has := size_of(peer, name)) is not None]
        own = sized_by(setting, task, name)
        if own is not None and len(sized) >= LEAST_RECORDS:
            x, m = np.log(np.array([s for s, _ in sized], float)), np.log(np.array([m for _, m in sized], float))
            fit = least_squares(np.column_stack([np.ones(x.size), x]), m)
            line = fit.coefficients[0] + fit.coefficients[1] * np.log(own.values)
            mass = np.exp(line + fit.spread * setting.draws.normal(key(task, "machine_mass")))
            written = step(
                f"ln m = {fit.coefficients[0]:.3f} + {fit.coefficients[1]:.3f} ln({name}), "
                f"over {x.size} records of such machines, spread {fit.spread:.2f} of ln m",
                {name: (own.values, unit_of(name))},
                (mass, "kg"),
                source="PRACTICE",
                status="practice",
            )
            return Load(mass, (written,), f"fitted to {x.size} records")
    if not peers:
        raise CannotSize(
            task.name, "the machine's own mass is not known", "Say machine_mass, or name an implement record"
        )
    masses = sorted(peer.mass_kg for peer in peers if peer.mass_kg is not None)
    low, high = (float(np.quantile(masses, p, method="nearest")) for p in (0.25, 0.75))
    mass = setting.draws.uniform(key(task, "machine_mass"), low, high)
    written = step(
        f"mass of such a tool, middle half of {len(masses)} records",
        {},
        (mass, "kg"),
        source="PRACTICE",
        status="practice",
    )
    return Load(mass, (written,), f"{len(masses)} records")


def payload(setting: Setting, task: Task) -> Load | None:
    """Return what the machine holds or carries when full [kg]: liquid, bales, loose material or the load said.

    A baler given by the size of its bale holds one.
    """
    if setting.family(task).group == HAULING and task.load_kg is None and task.bale_width_m is not None:
        return _wagon_of_bales(setting, task)
    if task.family == "bale_spear" or (task.bale_diameter_m is not None and not task.family.endswith("baler")):
        return bale(setting, task)
    record = setting.record(task)
    if record is None and task.load_kg is None and task.family.endswith("baler"):
        return bale(setting, task)
    if task.tank_l is not None or (record is not None and record.tank_l is not None) or task.family.endswith("sprayer"):
        return liquid(setting, task)
    holds = setting.family(task).group not in MOVES_WITHOUT_HOLDING
    if (task.material is not None and holds) or task.family == "loader_bucket":
        return loose(setting, task)
    if task.load_kg is None and (record is None or record.payload_kg is None) and task.family != "pallet_fork":
        return None
    known = need(setting, task, "payload_kg")
    written = step(f"load ({known.text})", {}, (known.values, "kg"), source=known.source, status=known.status)
    return Load(known.values, (written,), known.text)


def _wagon_of_bales(setting: Setting, task: Task) -> Load:
    """Return the mass of a wagon's load of bales [kg].

    Raises
    ------
    CannotSize
        If nobody says how many there are.
    """
    count = size(setting, task, "bales")
    if count is None:
        raise CannotSize(task.name, "how many bales it carries is not known", "Say bales, or load")
    one = bale(setting, task)
    mass = one.mass_kg * np.round(count.values)
    inputs: dict[str, tuple[Array | float | str, str]] = {
        "bales": (np.round(count.values), "1"),
        "mass of one": (one.mass_kg, "kg"),
    }
    total = step("load = bales x mass of one", inputs, (mass, "kg"), source="PRACTICE", status="practice")
    return Load(mass, (*one.steps, total), f"{count.text} of {one.text}")


def sized_by(setting: Setting, task: Task, name: str) -> Size | None:
    """Return a size a fit rests on; a payload that the sheet gives as a tank, bales or a volume is worked out."""
    volume = task.material is not None and task.volume_m3 is not None
    told = task.tank_l is not None or task.bales is not None or volume
    if name != "payload_kg" or task.load_kg is not None or not told:
        return variable(setting, task, name)
    load = payload(setting, task)
    if load is None:
        return variable(setting, task, name)
    low, high = float(load.mass_kg.min()), float(load.mass_kg.max())
    return Size(name, load.mass_kg, low, high, load.text, "job sheet", "customer", open=False)


def liquid(setting: Setting, task: Task) -> Load:
    """Return the mass of a full tank [kg]."""
    tank = need(setting, task, "tank_l")
    name = task.liquid or "water"
    rows = setting.library.rows("material_density", material="spray/tank liquid", condition=name)
    if not rows:
        raise CannotSize(task.name, f"the density of {name!r} is not in material_density", "Name a liquid of the table")
    densities = [row["density_kg_m3"] for row in rows]
    density = setting.draws.uniform(f"density/{name}", min(densities), max(densities))
    mass = np.asarray(liquids.tank_mass(tank.values, rho=density))
    written = step(
        "liquid = tank x density / 1000",
        {"tank": (tank.values, "L"), f"density of {name}": (density, "kg/m3")},
        (mass, "kg"),
        source=rows[0]["source_id"],
        status=rows[0]["status"],
    )
    return Load(mass, (written,), f"{tank.text} of {name}")


def bale(setting: Setting, task: Task) -> Load:
    """Return the mass of one bale [kg]: volume x the table's span of density for this size and crop."""
    said = size(setting, task, "payload_kg") if task.load_kg is not None else None
    if said is not None:
        written = step(
            f"mass of one bale ({said.text})", {}, (said.values, "kg"), source=said.source, status=said.status
        )
        return Load(said.values, (written,), said.text)
    crop = task.crop.among if task.crop else ("hay",)
    width, depth, round_bale = bale_size(setting, task)
    volume = (
        np.asarray(bales.round_volume(depth.values, h=width.values))
        if round_bale
        else _square_volume(setting, task, width, depth)
    )
    arrays, steps = {}, []
    for word in crop:
        low, high, source, status, how = _bale_density(setting, word, width, depth, round_bale)
        arrays[word] = setting.draws.uniform(f"bale_density/{word}/{low:.0f}-{high:.0f}", low, high)
        steps.append(
            step(f"density of a {word} bale, {how}", {}, (arrays[word], "kg/m3"), source=source, status=status)
        )
    density = arrays[crop[0]]
    if len(crop) > 1:
        density = np.choose(setting.draws.choice(key(task, "crop"), crop), [arrays[word] for word in crop])
    mass = np.asarray(bales.bale_mass(volume, rho=density))
    inputs = {"volume": (volume, "m3"), "density": (density, "kg/m3")}
    steps.append(step("mass of one bale = volume x density", inputs, (mass, "kg"), source="D497", status="practice"))
    return Load(mass, tuple(steps), f"{width.text} {' or '.join(crop)} bale")


def bale_size(setting: Setting, task: Task) -> tuple[Size, Size, bool]:
    """Return width and diameter of a round bale, or height and width of a square one, and whether it is round."""
    record = setting.record(task)
    square = task.bale_height_m is not None or (record is not None and record.bale_height_m is not None)
    if square and task.bale_diameter_m is None:
        return need(setting, task, "bale_height_m"), need(setting, task, "bale_width_m"), False
    return need(setting, task, "bale_width_m"), need(setting, task, "bale_diameter_m"), True


def _square_volume(setting: Setting, task: Task, height: Size, width: Size) -> Array:
    """Return the volume of a square bale of the table's usual length [m3]."""
    rows = [row for row in setting.library.tables["bale_mass"] if row["length_m"] and "rectangular" in row["bale_type"]]
    size_class = "large" if height.low > 0.6 else "small"
    lengths = [row["length_m"] for row in rows if row["bale_type"].startswith(size_class)]
    length = setting.draws.uniform(key(task, "bale_length_m"), min(lengths), max(lengths))
    return np.asarray(bales.square_volume(width.values, h=height.values, length=length))


def _bale_density(
    setting: Setting, crop: str, width: Size, depth: Size, round_bale: bool
) -> tuple[float, float, str, str, str]:
    """Return the span of bulk density [kg/m3] from rows of this size and crop, or of the crop alone."""
    kind = "round" if round_bale else "rectangular"
    rows = [
        row for row in setting.library.tables["bale_mass"] if kind in row["bale_type"] and row["crop_state"] == crop
    ]
    if not rows:
        raise CannotSize("bale", f"no {kind} {crop} bale in bale_mass", "Say load: the mass of one bale")

    same = [row for row in rows if round_bale and _is_size(row, width, depth)]
    spans = [span for row in (same or rows) if (span := _density_span(row)) is not None]
    low, high = min(span[0] for span in spans), max(span[1] for span in spans)
    how = f"{len(spans)} rows of this size" if same else f"{len(spans)} rows of all sizes"
    sources = sorted({row["source_id"] for row in (same or rows)})
    statuses = {row["status"] for row in (same or rows)}
    return low, high, "; ".join(sources), "practice" if "practice" in statuses else "published", how


def _is_size(row: Row, width: Size, diameter: Size) -> bool:
    """Return whether a row of bale_mass is for this settled width and diameter of a round bale."""
    if row["diameter_m"] is None or row["width_m"] is None or width.low != width.high or diameter.low != diameter.high:
        return False
    return bool(
        abs(row["diameter_m"] / diameter.low - 1) < SAME_SIZE and abs(row["width_m"] / width.low - 1) < SAME_SIZE
    )


def _density_span(row: Row) -> tuple[float, float] | None:
    low, high = row["mass_low_kg"] or row["mass_kg"], row["mass_high_kg"] or row["mass_kg"]
    return (low / row["volume_m3"], high / row["volume_m3"]) if low and high and row["volume_m3"] else None


def loose(setting: Setting, task: Task) -> Load:
    """Return the mass of one bucket of loose material [kg]."""
    record = setting.record(task)
    name = task.material
    if task.load_kg is not None or (name is None and record is not None and record.payload_kg is not None):
        known = need(setting, task, "payload_kg")
        written = step(
            f"load of one bucket ({known.text})", {}, (known.values, "kg"), source=known.source, status=known.status
        )
        return Load(known.values, (written,), known.text)
    if name is None:
        raise CannotSize(task.name, "what the bucket holds is not known", "Say material, or load")
    low, high, source, status = density_of(setting, task, name)
    density = setting.draws.uniform(f"density/{name}", low, high)
    volume = _bucket(setting, task, record)
    mass = volume * density
    written = step(
        "load = heaped volume x density",
        {"volume": (volume, "m3"), f"density of {name}": (density, "kg/m3")},
        (mass, "kg"),
        source=source,
        status=status,
    )
    return Load(mass, (written,), f"a bucket of {name}")


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


def _bucket(setting: Setting, task: Task, record: Implement | None) -> Array:
    if task.volume_m3 is None and record is not None and record.payload_kg is not None:
        return np.full(setting.draws.n, record.payload_kg / LOOSE_SOIL_KG_M3)
    return need(setting, task, "volume_m3").values
