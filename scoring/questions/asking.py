"""What to ask or measure next: every open answer by the chance that knowing it changes the pick.

For each answer the pick is found anew with the answer settled in each of its parts, on the same draws: one at a time,
everything else as uncertain as before. The chance is the share of the parts that change the present pick.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.scoring.core.draws import Draws
from evener.scoring.core.printing import Units, in_units
from evener.scoring.decision.contenders import FIRST
from evener.scoring.decision.ladder import same_size
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions.choosing import Chooser, chooser
from evener.scoring.questions.open_answers import PLACE, OpenAnswer, open_answers, slugs
from evener.scoring.questions.open_capacities import OpenCapacity, open_capacities
from evener.scoring.questions.open_unknowns import stays_uncertain
from evener.scoring.questions.reconcile import reconcile

if TYPE_CHECKING:
    from evener.schema.records import JobSheet, Tractor, TractorKind
    from evener.scoring.core.setting import Library, Row
    from evener.scoring.decision.contenders import Pick
    from evener.scoring.decision.sizing import Sizing

SCHEMA = 1
EFFORT = ("yes or no", "look", "tape", "ask", "plate", "scale")
OF_TRACTORS = "tractor"


@dataclass(frozen=True)
class Outcome:
    """The pick for one part of an answer."""

    answer: str
    share: float
    pick: Pick


@dataclass(frozen=True)
class Question:
    """One question with what its answers lead to.

    Attributes
    ----------
    id : what `--answer` takes
    task : name of the task, or of the tractor; None for the place
    quantity : size, choice or capacity that is open
    text : as it is put to the customer
    how : what it takes to answer
    now : what the sheet says, or what stands in for it
    chance : that knowing the answer changes the pick
    worth : money a year that knowing it is expected to save; None where no money is reckoned
    outcomes : pick by answer; neighbouring answers with the same pick are one
    """

    id: str
    task: str | None
    quantity: str
    text: str
    how: str
    now: str
    chance: float
    worth: float | None
    outcomes: tuple[Outcome, ...]


@dataclass(frozen=True)
class Survey:
    """All questions of one job on one set of draws, in their order.

    Attributes
    ----------
    sizing : the job as it stands
    chooser : its picks
    questions : those worth most first; without money the likeliest to change the pick
    """

    sizing: Sizing
    chooser: Chooser
    questions: tuple[Question, ...]


def ask(
    job: JobSheet,
    library: Library,
    tractors: Sequence[Tractor],
    *,
    among: Iterable[TractorKind] = ("class",),
    units: Units = "si",
    seeds: int = 0,
) -> dict[str, Any]:
    """Say what to ask or measure next, and what each answer would change.

    Parameters
    ----------
    job : the customer's job sheet
    library : records and published tables, as read from a store
    tractors : all tractor records; classes among them stand in for missing capacities
    among : kinds of record the pick is made among
    units : "si" or "us": the units of every number that has one
    seeds : on how many other sets of draws to do it again, to say how stable it is

    Returns
    -------
    dict
        The keys of `ask` in the JSON contract.
    """
    kinds = tuple(among)
    found = survey(job, library, tractors, among=kinds, units=units)
    sizing, now = found.sizing, found.chooser.now
    again = [
        survey(job, library, tractors, among=kinds, units=units, draws=Draws(seed=sizing.setting.draws.seed + other))
        for other in range(1, seeds + 1)
    ]
    answer = {
        "schema": SCHEMA,
        "place": job.place.name,
        "pick": now.tractor_id if now and not sizing.not_sized else None,
        "so_far": _pick(now),
        "not_sized": [{"task": one.task, "why": one.why, "remedy": one.remedy} for one in sizing.not_sized],
        "questions": [
            {
                "id": one.id,
                "question": one.text,
                "how": one.how,
                "now": one.now,
                "chance_changes_pick": one.chance,
                "worth_a_year": None if one.worth is None else round(one.worth, 2),
                "picks": [
                    {"answer": part.answer, "share": round(part.share, 6)} | _pick(part.pick.tractor)
                    for part in one.outcomes
                ],
            }
            for one in found.questions
        ],
        "reconcile": reconcile(job, library, pick_if_so=found.chooser.gap),
        "stays_uncertain": stays_uncertain(sizing),
        "stability": _stability(found, again) if again else None,
    }
    return in_units(answer, units)


def survey(
    job: JobSheet,
    library: Library,
    tractors: Sequence[Tractor],
    *,
    among: Iterable[TractorKind] = ("class",),
    units: Units = "si",
    draws: Draws | None = None,
) -> Survey:
    """Return every question of a job with its picks, as `ask` does, on a set of draws.

    Parameters
    ----------
    job, library, tractors, among, units : as `ask` takes them
    draws : another set than the usual one
    """
    sizing = size_job(job, library, draws)
    classes = [one for one in tractors if one.kind == "class"]
    wanted = set(among)
    scores = sizing.score([one for one in tractors if one.kind in wanted], classes, FIRST)
    picks = chooser(sizing, scores, tractors)
    found = [asked(sizing, picks, one) for one in open_answers(sizing, units)]
    found += [_looked_up(sizing, picks, one) for one in open_capacities(sizing, scores, classes, units)]
    questions = sorted({one.id: one for one in reversed(found)}.values(), key=lambda one: _place(one, found))
    return Survey(sizing, picks, tuple(questions))


def _stability(found: Survey, again: Sequence[Survey]) -> dict[str, Any]:
    """Return how often other draws give a pick of the same size and the same first question, and each chance's span."""
    every = [{one.id: one.chance for one in other.questions} for other in (found, *again)]
    first = found.questions[0].id if found.questions else None
    spread = {name: [chance.get(name, 0.0) for chance in every] for name in every[0]}
    return {
        "seeds": len(again),
        "pick_same": sum(_same(other.chooser.now, found.chooser.now) for other in again),
        "first_same": sum((other.questions[0].id if other.questions else None) == first for other in again),
        "chances": {name: [min(chances), max(chances)] for name, chances in spread.items() if max(chances) > 0},
    }


def _same(one: Tractor | None, other: Tractor | None) -> bool:
    if one is None or other is None:
        return one is other
    return one.tractor_id == other.tractor_id or same_size(one, other)


def _pick(tractor: Tractor | None) -> dict[str, Any]:
    return {
        "pick": tractor.tractor_id if tractor else None,
        "label": tractor.label if tractor else None,
        "pto_power": tractor.pto_power_kw if tractor else None,
        "unit": "kW",
    }


def _place(one: Question, found: Sequence[Question]) -> tuple[float, float, float, int, int]:
    """Order: worth most, the likeliest to change the pick, the widest apart, the easiest to answer, the sheet's."""
    powers = [part.pick.tractor.pto_power_kw or 0.0 if part.pick.tractor else 0.0 for part in one.outcomes]
    worth = -round(one.worth or 0.0)
    return (worth, -round(one.chance, 6), -(max(powers) - min(powers)), EFFORT.index(one.how), found.index(one))


def asked(sizing: Sizing, chooser: Chooser, one: OpenAnswer) -> Question:
    """Return an open answer as it is asked, with the picks it leads to."""
    settled = chooser.answer(one)
    picks = [Outcome(part.text, part.share, pick) for part, pick in zip(one.parts, settled.picks, strict=True)]
    family = next((task.family for task in sizing.setting.job.tasks if task.name == one.task), None)
    row = _row(sizing.setting.library.tables["question"], one.quantity, family)
    label = sizing.setting.library.families[family].label.lower() if family else "place"
    return Question(
        id=f"{slugs(sizing.setting.job)[one.task] if one.task else PLACE}.{row['key']}",
        task=one.task,
        quantity=one.quantity,
        text=row["question"].replace("{task}", one.task or "The place").replace("{implement}", label),
        how=row["how"],
        now=one.now,
        chance=_chance(picks),
        worth=settled.worth,
        outcomes=tuple(_joined(picks) if one.ordered else picks),
    )


def _looked_up(sizing: Sizing, chooser: Chooser, one: OpenCapacity) -> Question:
    settled = chooser.capacity(one)
    picks = [Outcome(part.text, part.share, pick) for part, pick in zip(one.parts, settled.picks, strict=True)]
    row = _row(sizing.setting.library.tables["question"], one.field, OF_TRACTORS)
    return Question(
        id=f"{one.tractor.tractor_id}.{row['key']}",
        task=one.tractor.tractor_id,
        quantity=one.field,
        text=row["question"].replace("{task}", f"{one.tractor.tractor_id} ({one.tractor.label})"),
        how=row["how"],
        now=one.now,
        chance=_chance(picks),
        worth=settled.worth,
        outcomes=tuple(_joined(picks)),
    )


def _row(rows: Sequence[Row], quantity: str, family: str | None) -> Row:
    """Return how a thing is asked: of this family, of any, or plainly by its name where no row holds it."""
    fitting = {row["family"]: row for row in rows if row["quantity"] == quantity}
    plain = quantity.rsplit("_", 1)[0]
    return (
        fitting.get(family)
        or fitting.get(None)
        or {"key": plain, "how": "ask", "question": f"{{task}}: what is the {plain.replace('_', ' ')}?"}
    )


def _chance(picks: Sequence[Outcome]) -> float:
    return min(1.0, round(sum((one.share for one in picks if one.pick.changed), 0.0), 6))


def _joined(picks: Sequence[Outcome]) -> list[Outcome]:
    """Tell neighbouring answers with the same pick as one: "1 to 1.5 in" and "1.5 to 2 in" as "1 to 2 in"."""
    found: list[Outcome] = []
    for one in picks:
        last = found[-1] if found else None
        if last is not None and last.pick == one.pick:
            share = min(1.0, last.share + one.share)
            found[-1] = Outcome(_from_to(last.answer, one.answer), share, one.pick)
        else:
            found.append(one)
    return found


def _from_to(first: str, last: str) -> str:
    return f"{first.split(' to ', 1)[0]} to {last.rsplit(' to ', 1)[-1]}"
