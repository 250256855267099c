"""How tractors are chosen without this tool: by engine power on the brochure, by ratings, by what is usually needed."""

from __future__ import annotations

import csv
import math
import statistics
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

from experiments.decision_world.customers import Customer, Job
from experiments.decision_world.figures import CLASSES, Tractor, effects, tractors
from experiments.decision_world.needs import People, asked_hp, loader_in, loader_lb
from experiments.decision_world.truths import Truth

RECORDS = CLASSES.with_name("implement_records.csv")
NEAR = 0.05
MORE = 1.15
MORE_HP = 15.0
BROCHURE, RATING, RATING_MORE, RATING_HP, MEAN_MORE = (
    "brochure's engine power",
    "library's rating",
    "library's rating x 1.15",
    "library's rating + 15 hp",
    "world's mean need x 1.15",
)


def smallest(enough: Callable[[Tractor], bool], loader: tuple[float, float] = (0.0, 0.0)) -> Tractor:
    """Return the smallest class that is enough and has such a loader, or the largest that has, or the largest."""
    lifts = [one for one in tractors() if one.loader_lb >= loader[0] and one.loader_in >= loader[1]]
    return next((one for one in lifts if enough(one)), (lifts or tractors())[-1])


def picks(customer: Customer, drawn: Sequence[Truth], who: People) -> dict[str, Tractor]:
    """Return what each rule of thumb comes to on what a customer says.

    Parameters
    ----------
    customer : what is said
    drawn : truths that agree with it, for the rule of one who knows what is usually needed
    who : how these people take a tractor that is short
    """
    rated = max((rating(job) for job in customer.named if job.chance == 1), default=0.0)
    bale = _loader(customer)
    return {
        BROCHURE: smallest(lambda one: one.engine_hp >= rated, bale),
        RATING: smallest(lambda one: one.pto_hp >= rated, bale),
        RATING_MORE: smallest(lambda one: one.pto_hp >= MORE * rated, bale),
        RATING_HP: smallest(lambda one: one.pto_hp >= rated + MORE_HP, bale),
        MEAN_MORE: _by_mean(customer, drawn, who),
    }


def _by_mean(customer: Customer, drawn: Sequence[Truth], who: People) -> Tractor:
    today = [job for job in customer.named if job.chance == 1]
    power = max(statistics.fmean(asked_hp(job, one, who) for one in drawn) for job in today)
    lift = max(statistics.fmean(loader_lb(job, one.jobs[job.name]) for one in drawn) for job in today)
    high = max(statistics.median(loader_in(job, one.jobs[job.name]) for one in drawn) for job in today)
    return smallest(lambda one: one.pto_hp >= MORE * power, (MORE * lift, high))


def _loader(customer: Customer) -> tuple[float, float]:
    """Return the lift and height that a usual bale asks, stacked as high as is said."""
    lift = high = 0.0
    for job in customer.named:
        if job.machine.built == "loader" and job.chance == 1:
            mass = job.machine.mass_lb * effects()["bale mass", job.crop or "hay"][0]
            across = 12.0 * float(job.machine.size.split("x")[1])
            lift, high = max(lift, mass + effects()["spear", "lb"][0]), max(high, across * ((job.stack or 1) - 1) + 24)
    return lift, high


def rating(job: Job) -> float:
    """Return the rating of the library's records nearest to a job's machine [hp]; their middle where several are."""
    near = _records(job.machine.family)
    if not near or job.machine.built == "loader":
        return 0.0
    distance = {id(row): _distance(row, job) for row in near}
    least = min(distance.values())
    near = [row for row in near if distance[id(row)] <= least + NEAR]
    if job.stems is not None:
        middle = sum(job.stems) / 2
        strong = [row for row in near if float(row["maximum stem (in)"] or 0) >= middle]
        thinnest = min((float(row["maximum stem (in)"]) for row in strong), default=None)
        near = [row for row in strong if float(row["maximum stem (in)"]) == thinnest] or near
    return statistics.median(_rated(row) for row in near)


@cache
def _records(family: str) -> tuple[dict[str, str], ...]:
    with Path(RECORDS).open(encoding="utf-8", newline="") as file:
        return tuple(row for row in csv.DictReader(file) if row["family"] == family and _rated(row))


def _rated(row: dict[str, str]) -> float:
    return float(row["rated PTO power (hp)"] or row["tractor power (hp)"] or 0)


def _distance(row: dict[str, str], job: Job) -> float:
    """Return how far a record's size is from a machine's [ln]."""
    machine, columns = job.machine, {"width": "width (ft)", "tank": "tank (gal)", "load": "payload (lb)"}
    if machine.size_key != "bale":
        there = float(row[columns[machine.size_key]] or 0)
        return abs(math.log(there / float(machine.size))) if there else math.inf
    if machine.family == "small_square_baler":
        return 0.0
    wide, across = (float(row[name].split()[0]) if row[name] else 0.0 for name in ("bale width", "bale diameter"))
    asked = [float(part) for part in machine.size.split("x")]
    return abs(math.log(wide / asked[0])) + abs(math.log(across / asked[1])) if wide and across else math.inf
