"""A ranking: the size to buy and why, tractors with their margins, what is open, and what to be careful of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.enquiry.filters import passes
from evener.enquiry.of_sheet import of_sheet
from evener.enquiry.widths import with_widths
from evener.ranking.choice import Choice, choice
from evener.ranking.filtered import Filtered, filtered
from evener.ranking.hinges import hinges
from evener.ranking.plans import Plans, TaskTime, plans, plans_by_cost, task_times
from evener.ranking.second import WithSecond, with_second
from evener.ranking.size import Size, Steps, size, steps
from evener.ranking.tractor import RankedTractor, ranked_tractor
from evener.results import place as whole
from evener.results.answer import KEPT, OPTIONAL, Answer, Worded
from evener.results.explanation import Explanation, explain
from evener.results.place import Claim, Gap, NotSized, Place, Unsettled
from evener.results.survey import Survey, ask
from evener.scoring.advice.cautions import cautions
from evener.scoring.combinations.scores import rank as by_rule
from evener.scoring.core.draws import Draws
from evener.scoring.core.printing import Units
from evener.scoring.decision.cheapest import may_be_picked
from evener.scoring.decision.contenders import FIRST
from evener.scoring.decision.sizing import size_job
from evener.scoring.money.terms import NoMoney
from evener.scoring.questions.asking import questions
from evener.scoring.questions.choosing import ByCost, BySureness, by_cost, worth_reckoning
from evener.scoring.questions.reconcile import reconcile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.enquiry.enquiry import Enquiry
    from evener.enquiry.filters import Filter
    from evener.schema.records import JobSheet, Tractor
    from evener.scoring.combinations.scores import Score
    from evener.scoring.decision.sizing import Sizing

ROWS = 8
UNITS: tuple[Units, Units] = ("si", "us")


@dataclass(frozen=True)
class Rule:
    """What decided: the rule, how sure, with what in hand, on how many draws.

    `rule` is "cost" or "sure"; `why_not_cost` says why "sure" decided although the sheet asks for the other.
    """

    rule: str
    why_not_cost: str | None
    confidence: float
    reserve_power: float
    reserve_lift: float
    draws: int


@dataclass(frozen=True)
class Ranking(Answer):
    """Tractors ranked for a job.

    Attributes
    ----------
    place : the place as the sheet says it
    policy : how sure the answer had to be
    size : the class to buy, what decides it, and what is asked at the PTO
    choice : the choice with its money; None where none can be reckoned
    other_rule : id of what the other rule picks; None where there is none
    pick : id of the tractor that comes first; None where none is picked, or a task was not sized
    tractors : the first tractors in their order, with all their margins
    ranked : how many were ranked
    steps : the classes one size below and above
    open : what the sheet does not settle
    not_sized : tasks that could not be sized
    not_done : names of tasks that no class does
    work : hours and days of each task
    covered_by_owned : names of tasks that owned machines take
    owned : what owned machines are said to take, and whether they do
    plans : what plans do to the pick
    reconcile : what the place probably needs and no task names
    cautions : what to check, and to be careful of
    filters : what filters took out, each with the best it took
    second : the best two tractors beside the best one; None where it is not asked for, or no two share the work
    """

    place: Place
    policy: Rule
    size: Size
    choice: Choice | None
    other_rule: str | None
    pick: str | None
    tractors: tuple[RankedTractor, ...]
    ranked: int
    steps: Steps
    open: tuple[Unsettled, ...]
    not_sized: tuple[NotSized, ...]
    not_done: tuple[str, ...]
    work: tuple[TaskTime, ...]
    covered_by_owned: tuple[str, ...]
    owned: tuple[Claim, ...]
    plans: Plans | None
    reconcile: tuple[Gap, ...]
    cautions: Worded[tuple[str, ...]]
    filters: tuple[Filtered, ...]
    second: WithSecond | None = field(metadata=OPTIONAL)
    enquiry: Enquiry = field(repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per tractor, task and axis.

        Parameters
        ----------
        units : "si" or "us"
        """
        return [
            {
                "tractor_id": row["tractor_id"],
                "label": row["label"],
                "kind": row["kind"],
                "owner": row["owner"],
                "fit": row["fit"],
                "adequacy": row["adequacy"],
                "meets": row["meets"],
                "task": task["task"],
                "axis": axis["axis"],
                "unit": axis["unit"],
                "demand_low": axis["demand"]["low"],
                "demand_median": axis["demand"]["median"],
                "demand_high": axis["demand"]["high"],
                "capacity": axis["capacity"],
                "margin": axis["margin"],
                "basis": axis["basis"],
            }
            for row in self.to_dict(units)["tractors"]
            for task in row["tasks"]
            for axis in task["axes"]
        ]

    def ask(self, *, units: Units | None = None, seeds: int = 0) -> Survey:
        """Return what to ask or measure next, the likeliest to change the pick first.

        Parameters
        ----------
        units : units the questions speak in; the sheet's own when left out
        seeds : on how many other sets of draws to do it again, to say how stable it is
        """
        return ask(self.enquiry, units=units, seeds=seeds)

    def with_answer(self, question: str, said: str) -> Ranking:
        """Return the ranking with one question answered; this one, and the sheet, stay as they are.

        Parameters
        ----------
        question : id of a question, such as "top-the-pasture.stems"
        said : the answer as people write it, such as "2 in"

        Raises
        ------
        evener.AnswerRefused
            It names nothing of this job, or cannot be held.
        """
        answered = self.enquiry.with_answer(question, said)
        return rank(answered, top=len(self.tractors) or ROWS, second=self.second is not None)

    def explain(self, tractor_id: str) -> Explanation:
        """Return every step of what each task asks of one tractor.

        Raises
        ------
        evener.NoSuchTractor
            There is no such record.
        """
        return explain(self.enquiry, tractor_id)


def rank(enquiry: Enquiry, *, top: int = ROWS, only: Sequence[Filter] = (), second: bool = False) -> Ranking:
    """Rank the tractors of an enquiry for its job, with margins and reasons.

    Parameters
    ----------
    enquiry : the job, the records, and the kinds to rank
    top : how many tractors to detail
    only : filters of the tractors to pick among, beside the sheet's own
    second : whether the best two tractors are looked for too
    """
    taken, _ = with_widths(enquiry)
    job, tractors = taken.job, enquiry.concerned
    sizing = size_job(job, enquiry.library)
    classes = [one for one in tractors if one.kind == "class"]
    among = [one for one in tractors if one.kind in enquiry.among]
    only = (*of_sheet(job, enquiry.library, among), *only)
    every = scores = sizing.score(among, classes, max(top, FIRST))
    if only:
        scores = sizing.score([one for one in among if passes(only, one)], classes, max(top, FIRST))
        kept = {one.tractor.tractor_id for one in scores}
        every = by_rule([*scores, *(one for one in every if one.tractor.tractor_id not in kept)])
    among_classes = set(enquiry.among) == {"class"} and not only
    by_class = scores if among_classes else sizing.score(classes, classes)
    sure = (one for one in scores if one.meets and may_be_picked(sizing.setting, one.tractor))
    surest = next((one.tractor.tractor_id for one in sure), None)
    of_all, why_not = _by_cost(sizing, worth_reckoning(every), tractors)
    picks = of_all if of_all is None or not only else of_all.among({one.tractor.tractor_id for one in scores})
    decides = picks is not None and job.policy.rule == "cost"
    chosen = None
    if picks is not None:
        chooser = picks if decides else BySureness(sizing, scores)
        found = hinges(sizing, questions(sizing, chooser, scores, classes, "si"), scores, classes)
        chosen = choice(picks, found, None if decides else surest)
    if picks is not None and decides:
        scores = _in_order(scores, picks)
        class_picks = picks if among_classes else _by_cost(sizing, by_class, tractors)[0]
        by_class = by_class if class_picks is None else _in_order(by_class, class_picks)
    # Where no tractor is sure enough on every task there still is a plan: the one that costs least, the rest hired.
    pick = chosen.pick.tractor_id if chosen is not None and (decides or surest is None) else surest
    first_class = (
        by_class[0]
        if decides and by_class
        else next((one for one in by_class if one.meets and may_be_picked(sizing.setting, one.tractor)), None)
    )
    best = scores[0] if scores else None
    said = [tuple(cautions(sizing, best, units)) for units in UNITS]
    costs = {} if picks is None else {one.valued.tractor.tractor_id: one for one in picks.cheapest.found}
    return Ranking(
        place=whole.place(job),
        policy=_rule(job, "cost" if decides else "sure", why_not),
        size=size(sizing, first_class),
        choice=chosen,
        other_rule=surest if decides else picks.now.tractor_id if picks is not None and picks.now else None,
        pick=None if sizing.not_sized else pick,
        tractors=tuple(ranked_tractor(sizing, one, costs.get(one.tractor.tractor_id), picks) for one in scores[:top]),
        ranked=sum(passes(only, one) for one in among),
        steps=steps(sizing, by_class, first_class),
        open=whole.unsettled(sizing),
        not_sized=whole.not_sized(sizing),
        not_done=sizing.not_done_by_any(classes),
        work=task_times(sizing),
        covered_by_owned=tuple(sizing.owned),
        owned=whole.claims(sizing, tractors),
        plans=plans_by_cost(picks) if picks is not None and decides else plans(sizing, scores),
        reconcile=whole.gaps(reconcile(job, enquiry.library)),
        cautions=Worded(*said),
        filters=filtered(only, [one.tractor for one in (every if of_all is None else _in_order(every, of_all))]),
        second=with_second(picks) if second and picks is not None else None,
        enquiry=enquiry,
    )


def _by_cost(sizing: Sizing, scores: Sequence[Score], tractors: Sequence[Tractor]) -> tuple[ByCost | None, str | None]:
    """Return the picks by cost, or why there are none."""
    try:
        return by_cost(sizing, [one.tractor for one in scores], tractors), None
    except NoMoney as reason:
        return None, str(reason)


def _in_order(scores: Sequence[Score], picks: ByCost) -> list[Score]:
    """Return scores in the order of cost; those that may not be picked, or have no cost, come last."""
    place = {one.valued.tractor.tractor_id: at for at, one in enumerate(picks.cheapest.found)}
    return sorted(scores, key=lambda one: place.get(one.tractor.tractor_id, len(place)))


def _rule(job: JobSheet, rule: str, why_not: str | None) -> Rule:
    policy = job.policy
    return Rule(rule, why_not, policy.confidence, policy.reserve_power, policy.reserve_lift, Draws().n)
