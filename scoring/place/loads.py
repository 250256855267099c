"""What a task's machine holds or carries when full: always something, where such machines carry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.core.setting import CannotSize
from evener.scoring.core.unknowns import of_task
from evener.scoring.mechanics.stance import machine_mass
from evener.scoring.mechanics.work import bales
from evener.scoring.place.ground import by_choice
from evener.scoring.place.materials import Load, holds_liquid, liquid, loose, material_of, stated
from evener.scoring.place.sizes import Size, need, size, variable
from evener.scoring.ratings.lines.least_squares import least_squares
from evener.scoring.ratings.sizes import size_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Row, Setting

LARGE_BALE_M = 0.6
LEAST_RECORDS = 5
HAULING, BUCKET = "hauling", "bucket"
CARRY_BALES = frozenset({"bale_spear", "bale_wrapper"})
PARTED = frozenset({HAULING, "spraying", "spreading"})
HOLDS = frozenset({"seeding", "spraying", "spreading", "feeding", "handling", "hauling"})


def payload(setting: Setting, task: Task) -> Load | None:
    """Return what the machine holds or carries when full [kg]: liquid, bales, loose material or the load said.

    A baler given by the size of its bale holds one.
    """
    return setting.once(task, _weighed)


def least_share(setting: Setting, task: Task) -> float:
    """Return the least share of a load that is worth a journey [1]; 1 where a load can't be parted, as a bale.

    Parameters
    ----------
    setting, task : the job and the task
    """
    family = setting.family(task)
    if family.power == "loader" and task.material is not None and task.load_kg is None:
        return float(setting.library.allowance("least_load", BUCKET)["low"])
    if family.group not in PARTED or task.bale_width_m is not None:
        return 1.0
    return float(setting.library.allowance("least_load")["low"])


def sized_by(setting: Setting, task: Task, name: str) -> Size | None:
    """Return a size a fit rests on; a payload that the sheet gives as a tank, bales or a volume is worked out."""
    volume = material_of(setting, task) is not None and task.volume_m3 is not None
    told = task.tank_l is not None or task.bales is not None or volume
    load = payload(setting, task) if name == "payload_kg" and task.load_kg is None and told else None
    if load is None:
        return variable(setting, task, name)
    low, high = float(load.mass_kg.min()), float(load.mass_kg.max())
    return Size(name, load.mass_kg, low, high, load.text, "job sheet", "customer")


def _weighed(setting: Setting, task: Task) -> Load | None:
    with setting.unknowns.listening() as drawn:
        load = _payload(setting, task)
    for fact in drawn:
        if load is not None and fact.asks == "payload_kg" and fact.name != "payload_kg":
            setting.unknowns.would_tell(fact, load.mass_kg)
    return load


def _payload(setting: Setting, task: Task) -> Load | None:
    record = setting.record(task)
    if setting.family(task).group == HAULING and task.load_kg is None and task.bale_width_m is not None:
        return _wagon_of_bales(setting, task)
    if task.family in CARRY_BALES or (task.bale_diameter_m is not None and not task.family.endswith("baler")):
        return bale(setting, task)
    if record is None and task.load_kg is None and task.family.endswith("baler"):
        return bale(setting, task)
    tank = task.tank_l is not None or (record is not None and record.tank_l is not None)
    if (tank and holds_liquid(setting, task)) or task.family.endswith("sprayer"):
        return liquid(setting, task)
    holds = setting.family(task).group in HOLDS
    bulk = tank or (task.volume_m3 is not None and (task.volume_m3.low is not None or task.family == "loader_bucket"))
    if holds and (task.material is not None or bulk):
        return loose(setting, task)
    if task.load_kg is not None or (record is not None and record.payload_kg is not None):
        return stated(setting, "load", need(setting, task, "payload_kg"))
    if setting.family(task).first_variable == "payload_kg" or task.family == "pallet_fork":
        return stated(setting, "load", need(setting, task, "payload_kg"))
    return _by_size(setting, task)


def _by_size(setting: Setting, task: Task) -> Load | None:
    """Return what a machine of this size holds by the records of its family; None where none of them holds anything."""
    name = setting.family(task).first_variable
    own = variable(setting, task, name) if name else None
    peers = [peer for peer in setting.library.of_family(task.family) if peer.payload_kg]
    sized = [(x, peer.payload_kg) for peer in peers if own is not None and (x := size_of(peer, own.name)) is not None]
    if own is None or len(sized) < LEAST_RECORDS:
        return None
    x, m = (np.log(np.array(column, float)) for column in zip(*sized, strict=True))
    fit = least_squares(np.column_stack([np.ones(x.size), x]), m)
    trace, text = setting.trace(), f"not said; a full load by {x.size} records"
    fact = of_task(task.name, "load", asks="payload_kg", text=text)
    mass = np.asarray(
        trace.call(machine_mass.mass_of_size, f"load by {own.name} over {x.size} records of such machines")(
            own.values,
            a=float(fit.coefficients[0]),
            b=max(float(fit.coefficients[1]), 0.0),
            s=fit.spread,
            z=setting.unknowns.normal(fact),
        )
    )
    setting.unknowns.would_tell(fact, mass)
    return Load(mass, trace.steps, text)


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
    each, trace = bale(setting, task), setting.trace()
    trace.follow(each.steps)
    mass = trace.call(bales.bales_mass)(np.round(count.values), m_1=each.mass_kg)
    return Load(np.asarray(mass), trace.steps, f"{count.text} of {each.text}")


def bale(setting: Setting, task: Task) -> Load:
    """Return the mass of one bale [kg]: volume x the table's span of density for this size and crop."""
    weighed = size(setting, task, "payload_kg") if task.load_kg is not None else None
    if weighed is not None:
        return stated(setting, "mass of one bale", weighed)
    crop = task.crop.among if task.crop else ("hay",)
    width, depth, round_bale = bale_size(setting, task)
    text, trace = f"{width.text} {' or '.join(crop)} bale", setting.trace()
    if round_bale:
        volume = trace.call(bales.round_volume)(depth.values, h=width.values)
    else:
        length = _length(setting, task, width, text)
        volume = trace.call(bales.square_volume)(depth.values, h=width.values, length=length)
    arrays = {}
    for word in crop:
        low, high, source, status, how = _bale_density(setting, word, np.asarray(volume), round_bale)
        fact = of_task(
            task.name,
            f"density of {word}",
            drawn_as=f"bale_density/{word}",
            asks="payload_kg",
            unit="kg/m3",
            text=text,
            source=source,
            status=status,
        )
        arrays[word] = setting.unknowns.uniform(fact, low, high)
        trace.given(f"density of a {word} bale, {how}", arrays[word], "kg/m3", source=source, status=status)
    words = task.crop.text if task.crop else ""
    fact = of_task(task.name, "crop", text=words, source="job sheet", status="customer")
    density = by_choice(setting, fact, crop, arrays)
    mass = trace.call(bales.bale_mass, "mass of one bale")(volume, rho=density)
    return Load(np.asarray(mass), trace.steps, text)


def bale_size(setting: Setting, task: Task) -> tuple[Size, Size, bool]:
    """Return width and diameter of a round bale, or height and width of a square one, and whether it is round."""
    record = setting.record(task)
    square = task.bale_height_m is not None or (record is not None and record.bale_height_m is not None)
    square = square or (record is None and task.family.endswith("square_baler"))
    if square and task.bale_diameter_m is None:
        return need(setting, task, "bale_height_m"), need(setting, task, "bale_width_m"), False
    return need(setting, task, "bale_width_m"), need(setting, task, "bale_diameter_m"), True


def _length(setting: Setting, task: Task, height: Size, text: str) -> Array:
    """Return the table's usual length of a square bale [m]."""
    rows = [row for row in setting.library.tables["bale_mass"] if row["length_m"] and "rectangular" in row["bale_type"]]
    size_class = "large" if height.low > LARGE_BALE_M else "small"
    lengths = [row["length_m"] for row in rows if row["bale_type"].startswith(size_class)]
    fact = of_task(task.name, "bale_length_m", asks="payload_kg", unit="m", text=text)
    return setting.unknowns.uniform(fact, min(lengths), max(lengths))


def _bale_density(setting: Setting, crop: str, volume: Array, round_bale: bool) -> tuple[float, float, str, str, str]:
    """Return the span of bulk density [kg/m3] of bales of this size and crop, between the sizes that are listed.

    A larger bale is never a lighter one: the least and the most that bales of a size weigh run on from size to size.
    """
    kind = "round" if round_bale else "rectangular"
    rows = [
        row for row in setting.library.tables["bale_mass"] if kind in row["bale_type"] and row["crop_state"] == crop
    ]
    if not rows:
        raise CannotSize("bale", f"no {kind} {crop} bale in bale_mass", "Say load: the mass of one bale")

    rows = [row for row in rows if _mass_span(row) is not None]
    sources = "; ".join(sorted({row["source_id"] for row in rows}))
    status = "practice" if "practice" in {row["status"] for row in rows} else "published"
    known = [span for row in rows if (span := _mass_span(row)) is not None]
    if not round_bale:
        densities = [float(bales.bale_density(mass, V=size)) for size, *span in known for mass in span]
        return min(densities), max(densities), sources, status, f"{len(known)} rows of all sizes"
    sizes = sorted({size for size, _, _ in known})
    least = [min(low for size, low, _ in known if size >= one) for one in sizes]
    most = [max(high for size, _, high in known if size <= one) for one in sizes]
    within = float(np.clip(np.median(volume), sizes[0], sizes[-1]))
    low, high = (
        float(bales.bale_density(np.exp(np.interp(np.log(within), np.log(sizes), np.log(masses))), V=within))
        for masses in (least, most)
    )
    return low, high, sources, status, f"between {len(sizes)} sizes listed"


def _mass_span(row: Row) -> tuple[float, float, float] | None:
    """Return volume [m3] and the least and most that a row of bale_mass gives [kg]; None where it lacks one."""
    low, high, volume = row["mass_low_kg"] or row["mass_kg"], row["mass_high_kg"] or row["mass_kg"], row["volume_m3"]
    return (float(volume), float(low), float(high)) if low and high and volume else None
