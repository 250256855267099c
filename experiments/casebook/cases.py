"""The cases as they are written down: what is said, by whom, the band that means, and the sizes of the trade."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

HERE = Path(__file__).resolve().parent
Telling = Literal["said", "told"]
TELLINGS: tuple[Telling, Telling] = ("said", "told")
UNDER = 0.95  # of the bottom of the band still counts as in it


def read_rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one table beside this file."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def ladder() -> tuple[float, ...]:
    """Return the sizes of the trade, in hp at the PTO, the least first."""
    return tuple(float(row["pto_hp"]) for row in read_rows("ladder.csv"))


def rung(power_hp: float) -> int:
    """Return the position on the ladder of the size nearest to a power, by ratio."""
    sizes = ladder()
    return min(range(len(sizes)), key=lambda position: abs(math.log(sizes[position] / power_hp)))


@dataclass(frozen=True)
class Case:
    """One case.

    Attributes
    ----------
    case_id, family, job, says : what it is, and the source's own words
    axis : what it is about
    low_hp, high_hp : the band, in hp at the PTO
    basis, grade, source, institution, year, status, note : where the band comes from and how well it is known
    """

    case_id: str
    family: str
    job: str
    says: str
    axis: str
    low_hp: float
    high_hp: float
    basis: str
    grade: str
    source: str
    institution: str
    year: str
    status: str
    note: str

    @property
    def centre_hp(self) -> float:
        """The middle of the band, by ratio."""
        return math.sqrt(self.low_hp * self.high_hp)

    @property
    def by_power(self) -> bool:
        """Whether what is asked at the PTO is judged as well as the pick."""
        return self.axis == "pto_power" and self.family != "whole_farm"

    @property
    def rungs(self) -> tuple[int, int]:
        """The least and the largest size that meet the case, by their positions on the ladder."""
        sizes = ladder()
        least = next((i for i, size in enumerate(sizes) if size >= UNDER * self.low_hp), len(sizes) - 1)
        largest = next((i for i, size in enumerate(sizes) if size > self.high_hp), len(sizes) - 1)
        return least, max(least, largest)

    def sheet(self, telling: Telling) -> Path:
        """Return the path of one of its two job sheets."""
        return HERE / "sheets" / f"{self.case_id}.{telling}.toml"


@cache
def cases() -> tuple[Case, ...]:
    """Return every case."""
    return tuple(
        Case(
            row["id"],
            row["family"],
            row["job"],
            row["says"],
            row["axis"],
            float(row["band_low_hp"]),
            float(row["band_high_hp"]),
            row["basis"],
            row["grade"],
            row["source"],
            row["institution"],
            row["year"],
            row["status"],
            row["note"],
        )
        for row in read_rows("cases.csv")
    )
