"""Which tractor does which job, how fast, and how safely: the world's own sums, in the trade's units."""

from __future__ import annotations

from dataclasses import dataclass

from experiments.decision_world.customers import Job
from experiments.decision_world.figures import Tractor, effects, rows, values
from experiments.decision_world.truths import TILLAGE, Behind, Truth

HILLS = 0.06
PIN_OVER_STACK_IN = 24.0
IN_PER_FT = 12.0


@dataclass(frozen=True)
class People:
    """How people take a tractor that is short of power.

    Attributes
    ----------
    kind : A, who gear down, or B, who do not
    floor : least share of the power asked on which they go on
    of_plate : least share of a machine's own rating, which no gear makes up for
    on_steepest : whether it is asked on the steepest ground
    """

    kind: str
    floor: float
    of_plate: float
    on_steepest: bool


def people() -> tuple[People, ...]:
    """Return both kinds of people."""
    return tuple(
        People(row["kind"], float(row["floor"]), float(row["of_plate"]), row["on_slope"] == "steepest")
        for row in rows("people")
    )


@dataclass(frozen=True)
class Done:
    """How a tractor does one job.

    Attributes
    ----------
    does : whether it does it, strong enough, high enough and safely
    slower : by how much the hours grow [factor, from 1]
    safe : whether the world's statics allow it
    """

    does: bool
    slower: float
    safe: bool


def done(tractor: Tractor, job: Job, truth: Truth, who: People) -> Done:
    """Return how a tractor does a job as it really is."""
    behind = truth.jobs[job.name]
    gives = tractor.pto_hp * truth.tractor_factor * _grip(tractor, job)
    share = gives / asked_hp(job, truth, who)
    runs = job.machine.family in TILLAGE or gives >= who.of_plate * behind.plate_hp
    strong = share >= who.floor and runs and _lifts(tractor, job, behind)
    safe = _safe(tractor, job, truth)
    return Done(strong and safe, max(1.0, 1.0 / share), safe)


def asked_hp(job: Job, truth: Truth, who: People) -> float:
    """Return the power a job asks on the ground that counts for these people [hp at the PTO]."""
    slope = truth.steepest if who.on_steepest else truth.slope
    return truth.jobs[job.name].usual_hp * (1 + 100 * slope * job.machine.grade_share)


def _grip(tractor: Tractor, job: Job) -> float:
    two_wheels = tractor.drive == "2wd" and job.machine.family in TILLAGE
    return effects()["traction", "2wd"][0] if two_wheels else 1.0


def loader_lb(job: Job, behind: Behind) -> float:
    """Return what a loader has to lift at its pins [lb]; 0 for other work."""
    if job.machine.family != "bale_spear":
        return 0.0
    return (behind.bale_lb + effects()["spear", "lb"][0]) * values("statics")["loader reach loss"]


def loader_in(job: Job, behind: Behind) -> float:
    """Return how high a loader's pin has to go [in]: the upper bale on those below, a bale being 4 or 5 ft across."""
    if job.machine.family != "bale_spear":
        return 0.0
    across = float(job.machine.size.split("x")[1]) * IN_PER_FT
    return (behind.stack - 1) * across + PIN_OVER_STACK_IN


def _lifts(tractor: Tractor, job: Job, behind: Behind) -> bool:
    if job.machine.built == "loader":
        return tractor.loader_lb >= loader_lb(job, behind) and tractor.loader_in >= loader_in(job, behind)
    if job.machine.built == "mounted":
        return tractor.lift_lb * values("statics")["hitch lift share"] >= job.machine.mass_lb
    return True


def _safe(tractor: Tractor, job: Job, truth: Truth) -> bool:
    """Return whether front axle, rear axle and what is towed stay within what is customary, on the ground as it is."""
    figures, machine = values("statics"), job.machine
    base, mass = tractor.wheelbase_in, tractor.mass_lb
    if machine.built == "trailed":
        towed = figures["towed over tractor on hills" if truth.slope > HILLS else "towed over tractor"]
        return machine.mass_lb <= towed * mass
    uphill = figures["centre height in wheelbases"] * truth.steepest * mass
    if machine.built == "loader":
        bale = truth.jobs[job.name].bale_lb + effects()["spear", "lb"][0]
        ballast = figures["rear ballast"] * mass
        tips = bale * figures["loader load ahead of axle in wheelbases"]
        rear = mass * (1 - tractor.front_share) - tips - uphill
        rear += ballast * (1 + figures["rear ballast behind axle in wheelbases"])
        return rear >= figures["rear axle with loader"] * (mass + bale + ballast)
    arm = (figures["link behind axle ft"] + figures["reach share"] * machine.reach_ft) * IN_PER_FT / base
    weights = figures["front weights"] * mass * (1 + figures["front weight ahead of axle in wheelbases"])
    level = mass * tractor.front_share - machine.mass_lb * arm + weights
    return level >= figures["front axle level"] * mass and (
        level - uphill >= figures["front axle on the steepest"] * mass
    )
