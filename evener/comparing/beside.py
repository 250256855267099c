"""Two to five tractors side by side: the customer's tasks as rows, and the money below."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.comparing.yearly import reckoned
from evener.enquiry.refused import Refused
from evener.ranking.costed import Costed, costed
from evener.results.answer import KEPT, Answer
from evener.results.margins import Limit
from evener.scoring.advice.remedies import Remedy, remedies
from evener.scoring.combinations.margins import limiting

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.enquiry.enquiry import Enquiry
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost

FEWEST, MOST = 2, 5


@dataclass(frozen=True)
class AtTask:
    """One tractor at one task.

    Attributes
    ----------
    does : share of the draws in which it does it
    hours : what it works at it in a year
    tightest : where it has least to spare there, or what it fails
    remedies : what it needs fitted there, and what would close its gaps
    a_year : fuel and driver, and what is hired of it
    """

    does: float
    hours: float
    tightest: Limit | None
    remedies: tuple[Remedy, ...]
    a_year: float


@dataclass(frozen=True)
class TaskRow:
    """One task with every tractor at it, in the order asked."""

    task: str
    tractors: tuple[AtTask, ...]


@dataclass(frozen=True)
class Beside(Answer):
    """Tractors side by side on one job.

    Attributes
    ----------
    place : name of the place
    currency : of all money
    tractors : each with its money, in the order asked
    tasks : task by task
    """

    place: str
    currency: str
    tractors: tuple[Costed, ...]
    tasks: tuple[TaskRow, ...]
    enquiry: Enquiry = field(repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per task and tractor.

        Parameters
        ----------
        units : "si" or "us"
        """
        return [
            {
                "task": row["task"],
                "tractor_id": one["tractor_id"],
                "does": at["does"],
                "hours": at["hours"],
                "tightest": None if at["tightest"] is None else at["tightest"]["axis"],
                "margin": None if at["tightest"] is None else at["tightest"]["margin"],
                "a_year": at["a_year"],
            }
            for row in self.to_dict(units)["tasks"]
            for one, at in zip(self.to_dict(units)["tractors"], row["tractors"], strict=True)
        ]


def beside(enquiry: Enquiry, tractor_ids: Sequence[str]) -> Beside:
    """Set tractors side by side.

    Parameters
    ----------
    enquiry : the job and the records
    tractor_ids : ids of two to five tractor records

    Raises
    ------
    evener.NoSuchTractor, evener.Refused, evener.WrongUse
        There is no such record, no money can be reckoned, or they are too few, too many or named twice.
    """
    if not FEWEST <= len(tractor_ids) <= MOST:
        raise Refused(
            f"{FEWEST} to {MOST} tractors can stand beside each other, not {len(tractor_ids)}; name so many ids"
        )
    if len(set(tractor_ids)) < len(tractor_ids):
        raise Refused("a tractor can stand beside others once; name each id once")
    decision, found = reckoned(enquiry, *tractor_ids)
    least = min(one.expected for one in found)
    columns = [_column(decision, one) for one in found]
    return Beside(
        place=enquiry.job.place.name,
        currency=decision.terms.currency,
        tractors=tuple(costed(one, least, decision) for one in found),
        tasks=tuple(
            TaskRow(demands.task, tuple(column[at] for column in columns))
            for at, demands in enumerate(decision.work.demands)
        ),
        enquiry=enquiry,
    )


def _column(decision: Decision, one: YearlyCost) -> list[AtTask]:
    """Return one tractor at every task."""
    sizing = decision.sizing
    score = sizing.score([one.valued.tractor], decision.classes)[0]
    details = {task.task: task for task in sizing.detail(score.offer)}
    fitted = list(remedies(sizing, score.offer, tuple(details.values())))
    column = []
    for spent in one.tasks:
        detail = details.get(spent.task)
        limit = None if detail is None else limiting((detail,))
        column.append(
            AtTask(
                does=spent.does,
                hours=spent.hours,
                tightest=None if limit is None else Limit.of(limit),
                remedies=tuple(each for each in fitted if each.task == spent.task),
                a_year=spent.running + spent.there + spent.hired,
            )
        )
    return column
