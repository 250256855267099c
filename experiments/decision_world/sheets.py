"""What a customer tells: the job sheet as said, the sheet with everything told, and the answer to one question."""

from __future__ import annotations

from experiments.decision_world.customers import Customer, Job
from experiments.decision_world.truths import Behind, Truth

PLACE = "place"
GAPS = {"bale_lifted": "bale_spear", "fed": "bale_spear", "snow_cleared": "snow_blower", "hay_cut": "disc_mower"} | {
    "hay_baled": "round_baler",
    "cleared": "rotary_cutter",
}
RATED = (
    "rotary_cutter",
    "finish_mower",
    "disc_mower",
    "round_baler",
    "small_square_baler",
    "rotary_tiller",
    "snow_blower",
)


def as_said(customer: Customer, policy: str = "") -> str:
    """Return the sheet as the customer says it unasked.

    Parameters
    ----------
    customer : who says it
    policy : lines to add to its [policy]
    """
    place = {}
    if customer.slope is not None:
        place["slope"] = f"{100 * customer.slope[0]:.0f} to {100 * customer.slope[1]:.0f} %"
    if customer.texture is not None:
        place["texture"] = customer.texture
    tasks = [(job.name, _machine(job) | _said(job) | _when(job)) for job in customer.named]
    return _sheet(customer, place, tasks, policy)


def as_told(customer: Customer, truth: Truth, policy: str = "") -> str:
    """Return the sheet with everything in it that a tape, a plate, a scale and some questions settle.

    Parameters
    ----------
    customer, truth : who says it, and what is so
    policy : lines to add to its [policy]
    """
    place = {
        "slope": f"{100 * truth.slope:.1f} %",
        "steepest": f"{100 * truth.steepest:.1f} %",
        "texture": truth.texture,
    }
    tasks = []
    for job in customer.jobs:
        behind = truth.jobs[job.name]
        if behind.comes:
            when = {} if job.chance == 1 else {"when": "planned", "chance": "100 %"}
            tasks.append((job.name, _machine(job) | _told(job, behind) | when))
    return _sheet(customer, place, tasks, policy)


def _sheet(customer: Customer, place: dict[str, str], tasks: list[tuple[str, dict[str, str]]], policy: str) -> str:
    lines = ["[place]", f'name = "customer {customer.number}"', *_written(place), "", "[[place.land]]"]
    lines += [f'use = "{customer.land}"', f'area = "{customer.area_ha} ha"']
    for name, keys in tasks:
        lines += ["", "[[task]]", f'name = "{name}"', *_written(keys)]
    lines += ["", "[policy]", 'units = "us"', policy]
    return "\n".join(lines) + "\n"


def _written(keys: dict[str, str]) -> list[str]:
    return [f'{key} = "{value}"' for key, value in keys.items()]


def _machine(job: Job) -> dict[str, str]:
    machine = job.machine
    keys = {"family": machine.sheet_name, "hours": f"{job.hours / job.times:.2f} h", "times": f"{job.times:g}"}
    if machine.size_key == "bale":
        square = " in square" if machine.family == "small_square_baler" else " ft"
        return (
            keys | {"bale": f"{machine.size}{square}"} | ({"attachment": "loader"} if machine.built == "loader" else {})
        )
    return keys | {machine.size_key: f"{machine.size} {machine.unit}"}


def _said(job: Job) -> dict[str, str]:
    keys = {}
    if job.stems is not None:
        keys["stems"] = f"{job.stems[0]} to {job.stems[1]} in"
    said = {"growth": job.growth, "crop": job.crop, "stack": job.stack}
    return keys | {key: str(value) for key, value in said.items() if value is not None}


def _told(job: Job, behind: Behind) -> dict[str, str]:
    keys = {key: answer(job, behind, key) for key in ("stems", "growth", "crop", "stack", "load", "rating")}
    return {key: said for key, said in keys.items() if said is not None}


def _when(job: Job) -> dict[str, str]:
    return {} if job.chance == 1 else {"when": "planned", "chance": f"{100 * job.chance:.0f} %"}


def answer(job: Job, behind: Behind, key: str) -> str | None:
    """Return what the customer answers when asked about one thing of a job, or None where he cannot say."""
    family = job.machine.family
    if key == "stems":
        return f"{behind.stems_in:.2f} in" if job.machine.stem_power else None
    if key == "growth":
        return behind.growth if family in {"rotary_cutter", "disc_mower", "finish_mower"} else None
    if key == "crop":
        return behind.crop if family in {"bale_spear", "round_baler"} else None
    if key == "stack":
        return str(behind.stack) if family == "bale_spear" else None
    if key == "load":
        return f"{behind.bale_lb:.0f} lb" if family == "bale_spear" else None
    if key == "rating":
        return f"{behind.plate_hp:.1f} hp" if family in RATED else None
    if key == "machine_mass":
        return (
            f"{job.machine.mass_lb:.0f} lb" if family not in {"bale_spear", "flat_wagon", "mounted_sprayer"} else None
        )
    if key == "plan":
        return "yes" if behind.comes else "no"
    return None


def answered(customer: Customer, truth: Truth, question: str) -> str | None:
    """Return the answer to a question by its id, such as "place.slope", or None where the customer cannot say.

    Parameters
    ----------
    customer, truth : who is asked, and what is so
    question : the id as `ask` prints it
    """
    where, _, key = question.rpartition(".")
    if where == PLACE:
        ground = {
            "slope": f"{100 * truth.slope:.1f} %",
            "steepest": f"{100 * truth.steepest:.1f} %",
            "texture": truth.texture,
        }
        return ground.get(key) or _is_done(customer, truth, key)
    job = next((one for one in customer.named if one.name.replace(" ", "-") == where), None)
    return None if job is None else answer(job, truth.jobs[job.name], key)


def _is_done(customer: Customer, truth: Truth, rule: str) -> str | None:
    """Return whether work that a rule asks about is there although nobody named it."""
    if rule not in GAPS:
        return None
    unnamed = [job.name for job in customer.jobs if not job.named and job.machine.family == GAPS[rule]]
    return "yes" if any(truth.jobs[name].comes for name in unnamed) else "no"
