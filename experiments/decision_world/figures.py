"""The world's figures, as its tables have them, in the trade's units: hp, lb, ft, inches, hours."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

HERE = Path(__file__).resolve().parent
CLASSES = HERE.parents[1] / "schema" / "library" / "tractor_classes.csv"


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one of the world's tables."""
    return _read(HERE / "data" / f"{name}.csv")


def _read(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@dataclass(frozen=True)
class Machine:
    """A machine of one size, as the trade has it.

    Attributes
    ----------
    family, sheet_name, size, size_key, unit : what it is, and how a sheet says it
    hp, scatter : least power the trade asks for it, and the spread of single machines about that [ln]
    mass_lb, reach_ft, built : its mass (of a spear, that of the bale), its length behind the hitch, how it is carried
    grade_share : how much more power it takes for each per cent of slope [share]
    stem_power : exponent of the stem's thickness in inches
    """

    family: str
    sheet_name: str
    size: str
    size_key: str
    unit: str
    hp: float
    scatter: float
    mass_lb: float
    reach_ft: float
    built: str
    grade_share: float
    stem_power: float


@cache
def machines() -> dict[tuple[str, str], Machine]:
    """Return every machine of the world by family and size."""
    found = {}
    for row in rows("ratings"):
        numbers = (float(row[name]) for name in ("hp", "scatter", "mass_lb", "reach_ft"))
        found[row["family"], row["size"]] = Machine(
            row["family"],
            row["sheet_name"],
            row["size"],
            row["size_key"],
            row["unit"],
            *numbers,
            row["built"],
            float(row["grade_share"]),
            float(row["stem_power"]),
        )
    return found


@cache
def effects() -> dict[tuple[str, str], tuple[float, float]]:
    """Return mean and spread of every effect."""
    return {(row["what"], row["of"]): (float(row["mean"]), float(row["sd"])) for row in rows("effects")}


@cache
def values(name: str) -> dict[str, float]:
    """Return a table of single values."""
    return {row["what"]: float(row["value"]) for row in rows(name)}


@dataclass(frozen=True)
class Tractor:
    """A generic class, by its record.

    Attributes
    ----------
    tractor_id, drive : as its record says
    pto_hp, engine_hp, mass_lb, wheelbase_in, front_share : as its record says
    lift_lb, loader_lb, loader_in : what its hitch lifts 24 in behind the balls and its loader at full height, and that
        height; 0 where it has none
    """

    tractor_id: str
    drive: str
    pto_hp: float
    engine_hp: float
    mass_lb: float
    wheelbase_in: float
    front_share: float
    lift_lb: float
    loader_lb: float
    loader_in: float


@cache
def tractors() -> tuple[Tractor, ...]:
    """Return the classes that are tractors as the trade means it, the smallest first."""
    found = []
    for row in _read(CLASSES):
        numbers = {
            name: float(row[name] or 0)
            for name in (
                "PTO power (hp)",
                "engine power (hp)",
                "mass (lb)",
                "wheelbase (in)",
                "front mass share",
                "lift at 24 in (lb)",
                "loader lift (lb)",
                "loader height (in)",
            )
        }
        found.append(Tractor(row["tractor_id"], row["drive"], *numbers.values()))
    return tuple(sorted(found, key=lambda one: (one.pto_hp, one.mass_lb, one.tractor_id)))
