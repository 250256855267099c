"""What is so behind what is said: the ground, the machines and the work, drawn anew as often as one likes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from experiments.decision_world.chances import chosen, concerns, drawn, factor, spread_about
from experiments.decision_world.customers import Customer, Job, customer_of

LEAST_STEMS_IN = 0.5
TILLAGE = ("disk_harrow", "chisel_plow", "rotary_tiller", "grain_drill")


@dataclass(frozen=True)
class Behind:
    """What is so for one job.

    Attributes
    ----------
    comes : whether it is ever done
    plate_hp : least power by the machine's own plate
    usual_hp : power it asks on level ground as the work is here
    stems_in, growth, crop, stack : how it is
    bale_lb : mass of the bale, where it is a spear's
    """

    comes: bool
    plate_hp: float
    usual_hp: float
    stems_in: float
    growth: str
    crop: str
    stack: int
    bale_lb: float


@dataclass(frozen=True)
class Truth:
    """What is so for one customer.

    Attributes
    ----------
    slope, steepest, texture : the ground
    tractor_factor : what tractors give of their rated power
    jobs : each job by its name
    """

    slope: float
    steepest: float
    texture: str
    tractor_factor: float
    jobs: dict[str, Behind]


def population(number: int, seed: int) -> Iterator[tuple[Customer, Truth]]:
    """Yield customers, each with what is so.

    Parameters
    ----------
    number : how many
    seed : of everything
    """
    for index in range(number):
        rng = np.random.default_rng([seed, index])
        customer = customer_of(rng, index)
        yield customer, truth_of(customer, rng)


def others(customer: Customer, number: int, seed: int) -> list[Truth]:
    """Return other truths that agree with what a customer says, as one who knows the world's tables would draw them."""
    rng = np.random.default_rng([seed, customer.number, number])
    return [truth_of(customer, rng) for _ in range(number)]


def truth_of(customer: Customer, rng: np.random.Generator) -> Truth:
    """Return one draw of what may be so for a customer, given what is said."""
    slope = drawn(rng, "slope") if customer.slope is None else float(rng.uniform(*customer.slope))
    texture = customer.texture or chosen(rng, "texture")
    on_soil, here = factor(rng, "texture", texture), spread_about(rng, "place", "all")
    jobs = {job.name: _behind(rng, job, on_soil, here) for job in customer.jobs}
    return Truth(slope, slope * drawn(rng, "steep_ratio"), texture, spread_about(rng, "tractor", "rated"), jobs)


def _behind(rng: np.random.Generator, job: Job, on_soil: float, here: float) -> Behind:
    """Return what is so for one job, given what is said of it."""
    machine = job.machine
    stems = 1.0
    if machine.stem_power:
        stems = drawn(rng, "stems") if job.stems is None else float(rng.uniform(*job.stems))
        stems = max(stems, LEAST_STEMS_IN)
    growth = job.growth or (chosen(rng, "growth") if concerns("growth", machine.family) else "normal")
    crop = job.crop or (chosen(rng, "crop") if concerns("crop", machine.family) else "hay")
    stack = job.stack or int(chosen(rng, "stack"))
    plate = machine.hp * stems**machine.stem_power * math.exp(machine.scatter * float(rng.standard_normal()))
    usual = plate * here
    if growth == "thick":
        usual *= factor(rng, "growth", "thick")
    if machine.family == "round_baler" and crop == "silage":
        usual *= factor(rng, "crop", "silage")
    if machine.family in TILLAGE:
        usual *= on_soil
    bale = machine.mass_lb * factor(rng, "bale mass", crop) if machine.family == "bale_spear" else 0.0
    return Behind(bool(rng.random() < job.chance), plate, usual, stems, growth, crop, stack, bale)
