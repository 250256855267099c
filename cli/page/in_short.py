"""The first side in sentences: what to buy, with what, why, what it hangs on, what to measure, what is not safe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.cli.output import words
from evener.cli.page import money, plain
from evener.scoring.core.printing import show

if TYPE_CHECKING:
    from evener.cli.page.gathered import Gathered
    from evener.schema.records import Quantity, Task
    from evener.scoring.core.printing import Units

MEASURED = ("tape", "plate", "scale", "look")
MOST_HANGING, MOST_MEASURED = 2, 3
MOST_CAUTIONS = 3
LIKELY = 0.02
OF_HIRE = ("Buy", "Money")


@dataclass(frozen=True)
class Said:
    """A heading and what is said under it."""

    heading: str
    sentences: tuple[str, ...]
    listed: bool = False


def said(gathered: Gathered) -> tuple[Said, ...]:
    """Return the first side."""
    parts = (
        ("Buy", _buy(gathered)),
        ("Why", _why(gathered)),
        ("With", _with(gathered)),
        ("It hangs on", _hangs_on(gathered)),
        ("Before you sign", _measure(gathered)),
        ("The wrong size", _wrong_size(gathered)),
        ("Money", _money(gathered)),
        ("Not safe", _not_safe(gathered)),
    )
    kept = parts if gathered.buys else [part for part in parts if part[0] in OF_HIRE]
    found = ((heading, tuple(sentences)) for heading, sentences in kept)
    return tuple(Said(heading, sentences) for heading, sentences in found if sentences)


def name_of(tractor: Mapping[str, Any]) -> str:
    """Return a ranked tractor in words."""
    generic = tractor["kind"] == "class"
    label = plain.tractor(tractor["label"], tractor["pto_power"], tractor["unit"], generic=generic)
    return f"{label} ({tractor['owner']})" if tractor["owner"] else label


def _buy(gathered: Gathered) -> Iterator[str]:
    first, answer = gathered.first, gathered.answer
    if first is None:
        yield "No tractor is listed to choose from."
        return
    missing = [one["task"] for one in answer["not_sized"]]
    if not first["meets"] and not gathered.choice:
        yield (
            f"Nothing listed does all the work as it is described. The nearest is "
            f"{plain.article(name_of(first))}: it does it all {plain.cases(first['adequacy'])}."
        )
    else:
        instead = money.instead(answer) if gathered.choice else []
        yield from instead
        if not gathered.buys:
            return
        start = "if you buy: " if instead else ""
        start += "at least " if missing else ""
        yield plain.sentence(f"{start}{plain.article(name_of(first))}.")
        yield "The PTO is the shaft at the back that drives machines; its power is less than the engine's."
    for one in answer["not_sized"]:
        yield f"{one['task']} is not in this answer: {one['why']}. {plain.sentence(one['remedy'])}."
    if answer["covered_by_owned"]:
        yield f"Left out, because a tractor you have is said to do it: {plain.joined(answer['covered_by_owned'])}."


def _with(gathered: Gathered) -> Iterator[str]:
    job, library = gathered.enquiry.job, gathered.enquiry.library
    taken = set(gathered.answer["covered_by_owned"])
    found: dict[str, None] = {}
    for task in job.tasks:
        if task.name not in taken:
            record = library.implements.get(task.implement_id or "")
            if record is not None:
                name = plain.noun(record.label)
            else:
                family = library.families.get(task.family)
                name = plain.noun(family.label if family else task.family) + _size(task, gathered.units)
            found[name] = None
    if found:
        yield plain.sentence(plain.joined([plain.article(one) for one in found])) + "."
    if gathered.choice and gathered.choice["machines"]:
        bounded = [
            f"{plain.article(one['machine'])}{by}" for one in gathered.choice["machines"] if (by := words.buy_by(one))
        ]
        if bounded:
            yield f"Still to be bought: {'; '.join(bounded)}."


def _size(task: Task, units: Units) -> str:
    told = [
        (task.width_m, "m", "working_width_m", "{}"),
        (task.tank_l, "L", "tank_l", "{}"),
        (task.auger_diameter_m, "m", "auger_diameter_m", "{}"),
        (task.stem_m, "m", "max_stem_m", "for stems of {}"),
    ]
    said = [pattern.format(_quantity(value, unit, name, units)) for value, unit, name, pattern in told if value]
    return f" ({', '.join(said)})" if said else ""


def _quantity(value: Quantity, unit: str, name: str, units: Units) -> str:
    if value.low is None or value.high is None:
        return "size not known"
    low, high = (show(end, unit, units, field=name) for end in (value.low, value.high))
    return low if low == high else f"{low.split(' ')[0]} to {high}"


def _why(gathered: Gathered) -> Iterator[str]:
    first = gathered.first
    if first is not None and gathered.choice:
        yield from money.why(gathered.choice)
    else:
        yield from _tightest(first)
    for one in [] if first is None else first["remedies"]:
        if one["needed"]:
            yield _needs(one)


def _needs(one: Mapping[str, Any]) -> str:
    if one["kind"] == "lighter":
        most = words.quantity(one["amount"], one["unit"])
        return f"At {one['task']} its front axle takes no more than {most} in the tool."
    return f"It needs fitted, for {one['task']}: {words.remedy(one)}."


def _tightest(first: Mapping[str, Any] | None) -> Iterator[str]:
    if first is None or first["limiting"] is None:
        return
    one = first["limiting"]
    axes = (axis for task in first["tasks"] if task["task"] == one["task"] for axis in task["axes"])
    tight = next((axis for axis in axes if axis["axis"] == one["axis"]), None)
    if tight is None or tight["capacity"] is None:
        yield f"{plain.limit(one)} decides."
    elif tight["axis"] in {"front_axle", "rear_axle"}:
        yield f"{one['task']} decides, by the {plain.axis(one['axis'])}: {plain.to_spare(one['margin'])}."
    else:
        most = words.quantity(tight["demand"]["high"], tight["unit"])
        has = words.quantity(tight["capacity"], tight["unit"])
        yield f"{one['task']} decides, by the {plain.axis(one['axis'])}: it takes up to {most}; this tractor has {has}."
    if first["meets"]:
        yield f"It does all the work {plain.cases(first['adequacy'])}."


def _hangs_on(gathered: Gathered) -> Iterator[str]:
    if gathered.choice and gathered.choice["hangs_on"]:
        yield from money.hangs_on(gathered.choice)
        return
    asked = [one for one in gathered.survey["questions"] if one["chance_changes_pick"] > LIKELY]
    if not asked:
        yield "Nothing that is still open changes the tractor by itself."
        return
    for one in asked[:MOST_HANGING]:
        parts = [f"{part['answer']}, then {_pick(part)}" for part in one["picks"]]
        yield f"{plain.sentence(one['question'])}. {plain.sentence('; '.join(parts))}."


def _pick(part: Mapping[str, Any]) -> str:
    if part["pick"] is None:
        return "nothing listed does it all"
    return f"about {words.quantity(part['pto_power'], part['unit'])}"


def _measure(gathered: Gathered) -> Iterator[str]:
    found = [one for one in gathered.survey["questions"] if one["how"] in MEASURED and one["chance_changes_pick"] > 0]
    asked = found[:MOST_MEASURED]
    if asked and not gathered.choice:
        hanging, asked = asked[:MOST_HANGING], asked[MOST_HANGING:]
        yield f"First find out what it hangs on ({plain.joined([_odds(one) for one in hanging])})."
    for one in asked:
        yield f"{plain.sentence(one['question'])} ({_odds(one)})."
    if found:
        yield "The figures say how likely the answer changes the tractor."


def _odds(one: Mapping[str, Any]) -> str:
    chance = round(one["chance_changes_pick"] * 100)
    return f"{chance} in 100" if chance else "under 1 in 100"


def _wrong_size(gathered: Gathered) -> Iterator[str]:
    if gathered.choice:
        yield from money.wrong_size(gathered.choice)
        return
    steps = gathered.answer["steps"]
    below, above = steps["below"], steps["above"]
    if below is not None and (gathered.first is None or below["class"] != gathered.first["tractor_id"]):
        name = words.quantity(below["pto_power"], below["unit"])
        failed = plain.joined([plain.limit(one) for one in below["fails"][:2]]) or "no task alone, all together"
        yield f"One size smaller, {name}, does it all {plain.cases(below['adequacy'])}. It fails: {failed}."
        for remedy in [one for one in below["remedies"] if not one["needed"]][:1]:
            yield f"It would be enough for {remedy['task']} with {words.remedy(remedy)}."
    if above is not None:
        name = words.quantity(above["pto_power"], above["unit"])
        yield f"One size larger, {name}, does it all {plain.cases(above['adequacy'])}."


def _money(gathered: Gathered) -> Iterator[str]:
    if gathered.choice:
        yield from money.sentences(gathered.choice, buys=gathered.buys)
        return
    yield "What it costs in a year is not worked out here: ask your adviser for prices of the sizes above."


def _not_safe(gathered: Gathered) -> Iterator[str]:
    yield from gathered.answer["cautions"][:MOST_CAUTIONS]
