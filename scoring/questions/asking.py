"""What to ask or measure next: every open answer by the chance that knowing it changes the pick.

For each answer the pick is found anew with the answer settled in each of its parts, on the same draws: one at a time,
everything else as uncertain as before. The chance is the share of the parts that change the present pick.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.scoring.core.draws import Draws
from evener.scoring.core.printing import Units, in_units
from evener.scoring.decision.contenders import FIRST
from evener.scoring.decision.ladder import same_size
from evener.scoring.decision.sizing import size_job
from evener.scoring.questions.choosing import Chooser, chooser
from evener.scoring.questions.open_answers import open_answers
from evener.scoring.questions.open_capacities import open_capacities
from evener.scoring.questions.open_unknowns import stays_uncertain
from evener.scoring.questions.open_work import open_work
from evener.scoring.questions.question import EFFORT, Question, about_work, asked, looked_up
from evener.scoring.questions.reconcile import reconcile

if TYPE_CHECKING:
    from evener.schema.records import JobSheet, Tractor, TractorKind
    from evener.scoring.combinations.scores import Score
    from evener.scoring.core.setting import Library
    from evener.scoring.decision.sizing import Sizing

SCHEMA = 1
LIKE = 1.5  # two worths no further apart than this are alike: the easier to answer comes first


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
    passes: Callable[[Tractor], bool] | None = None,
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
    passes : which tractors may be picked; all of those kinds when left out

    Returns
    -------
    dict
        The keys of `ask` in the JSON contract.
    """
    kinds = tuple(among)
    found = survey(job, library, tractors, among=kinds, units=units, passes=passes)
    sizing, now = found.sizing, found.chooser.now
    again = [
        survey(
            job,
            library,
            tractors,
            among=kinds,
            units=units,
            draws=Draws(seed=sizing.setting.draws.seed + other),
            passes=passes,
        )
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
                "said": one.said,
                "chance_changes_pick": one.chance,
                "worth_a_year": None if one.worth is None else round(one.worth, 2),
                "worth_asking": one.worth_asking,
                "picks": [
                    {"answer": part.answer, "share": round(part.share, 6)}
                    | _pick(part.pick.tractor)
                    | {"or_else": [other.tractor_id for other in part.or_else if other.tractor_id is not None]}
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
    passes: Callable[[Tractor], bool] | None = None,
) -> Survey:
    """Return every question of a job with its picks, as `ask` does, on a set of draws.

    Parameters
    ----------
    job, library, tractors, among, units, passes : as `ask` takes them
    draws : another set than the usual one
    """
    sizing = size_job(job, library, draws)
    classes = [one for one in tractors if one.kind == "class"]
    wanted = set(among)
    scores = sizing.score(
        [one for one in tractors if one.kind in wanted and (passes is None or passes(one))], classes, FIRST
    )
    picks = chooser(sizing, scores, tractors)
    return Survey(sizing, picks, questions(sizing, picks, scores, classes, units))


def questions(
    sizing: Sizing, picks: Chooser, scores: Sequence[Score], classes: Sequence[Tractor], units: Units
) -> tuple[Question, ...]:
    """Return every question of a job in its order: those worth most first; `rank` and `ask` put the same.

    Parameters
    ----------
    sizing : the job as it stands
    picks : its picks
    scores : the tractors to pick among, in their order of sureness
    classes : the generic classes
    units : units they speak in
    """
    found = [asked(sizing, picks, one) for one in open_answers(sizing, units)]
    found += [about_work(sizing, picks, one) for one in open_work(sizing)]
    found += [looked_up(sizing, picks, one) for one in open_capacities(sizing, scores, classes, units)]
    return tuple(sorted({one.id: one for one in reversed(found)}.values(), key=lambda one: _place(one, found)))


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


def _place(one: Question, found: Sequence[Question]) -> tuple[bool, int, int, float, float, float, int]:
    """Order: worth asking, of like worth, the easiest to answer, worth most, the likeliest to change the pick."""
    powers = [part.pick.tractor.pto_power_kw or 0.0 if part.pick.tractor else 0.0 for part in one.outcomes]
    like = round(math.log(max(one.worth, 1.0)) / math.log(LIKE)) if one.worth is not None else 0
    if one.worth is None:
        return not one.worth_asking, 0, 0, -round(one.chance, 6), min(powers) - max(powers), 0.0, found.index(one)
    effort, apart = EFFORT.index(one.how), min(powers) - max(powers)
    return not one.worth_asking, -like, effort, -round(one.worth), -round(one.chance, 6), apart, found.index(one)
