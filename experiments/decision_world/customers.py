"""Invented customers: what they say. What is said is fixed first, and what is so is drawn behind it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from experiments.decision_world.chances import chosen, concerns, drawn, is_said
from experiments.decision_world.figures import Machine, machines, rows

WORDS = (("level", 0.0, 0.02), ("gentle", 0.02, 0.05), ("rolling", 0.05, 0.10), ("hilly", 0.10, 0.15))
STEEPER = (0.15, 0.22)


@dataclass(frozen=True)
class Job:
    """One job as the customer names it.

    Attributes
    ----------
    name, machine : what it is
    hours, times, hire_per_hour : in a year, and what it costs to have it done
    chance : that it comes at all; 1 for work of today
    stems : the span said [in], or None
    growth, crop, stack : what is said, or None
    named : False for work that comes although nobody named it
    """

    name: str
    machine: Machine
    hours: float
    times: float
    hire_per_hour: float
    chance: float
    stems: tuple[float, float] | None = None
    growth: str | None = None
    crop: str | None = None
    stack: int | None = None
    named: bool = True


@dataclass(frozen=True)
class Customer:
    """One customer, as the sheet has it.

    Attributes
    ----------
    number, place, land, area_ha : who and where
    slope, texture : what is said of the ground, or None
    jobs : work of today and plans, and behind them what nobody named
    """

    number: int
    place: str
    land: str
    area_ha: float
    slope: tuple[float, float] | None
    texture: str | None
    jobs: tuple[Job, ...]

    @property
    def named(self) -> tuple[Job, ...]:
        """The jobs on the sheet."""
        return tuple(job for job in self.jobs if job.named)


def customer_of(rng: np.random.Generator, index: int) -> Customer:
    """Return one customer: place, jobs, and what is said of them."""
    kinds = rows("places")
    kind = kinds[int(rng.choice(len(kinds), p=[float(row["share"]) for row in kinds]))]
    jobs: list[Job] = []
    while not any(job.named and job.chance == 1 for job in jobs):
        jobs = [job for row in rows("jobs") if row["place"] == kind["place"] for job in _job(rng, row, kind)]
    slope = None
    if is_said(rng, "slope"):
        steep = drawn(rng, "slope")
        slope = next(((low, high) for _, low, high in WORDS if steep <= high), STEEPER)
    texture = chosen(rng, "texture") if is_said(rng, "texture") else None
    area = round(float(rng.uniform(float(kind["area_low_ha"]), float(kind["area_high_ha"]))), 1)
    return Customer(index, kind["place"], kind["land"], area, slope, texture, tuple(jobs))


def _job(rng: np.random.Generator, row: dict[str, str], kind: dict[str, str]) -> list[Job]:
    """Return the job of one row where the customer has it: today, as a plan, or without a word about it."""
    lot = rng.random() - float(row["today"])
    planned, unlisted = float(row["planned"]), float(kind["unlisted"]) * float(row["planned"])
    if lot >= planned + unlisted:
        return []
    sizes = row["sizes"].split("|")
    machine = machines()[row["family"], sizes[int(rng.integers(len(sizes)))]]
    chance = 1.0 if lot < 0 else round(float(rng.uniform(float(row["chance_low"]), float(row["chance_high"]))), 2)
    hours = round(float(rng.uniform(float(row["hours_low"]), float(row["hours_high"]))))
    stems = growth = crop = stack = None
    if machine.stem_power and is_said(rng, "stems"):
        middle = drawn(rng, "stems")
        stems = (round(0.7 * middle, 1), round(1.3 * middle, 1))
    if concerns("growth", row["family"]) and is_said(rng, "growth"):
        growth = chosen(rng, "growth")
    if concerns("crop", row["family"]) and is_said(rng, "crop"):
        crop = chosen(rng, "crop")
    if row["family"] == "bale_spear" and is_said(rng, "stack"):
        stack = int(chosen(rng, "stack"))
    name = row["family"].replace("_", " ")
    times, hire = float(row["times"]), float(row["hire_per_hour"])
    named = lot < planned
    return [Job(name, machine, hours, times, hire, chance, stems, growth, crop, stack, named)]
