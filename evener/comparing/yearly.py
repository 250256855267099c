"""What one tractor costs on a place in a year: by task, by year, and every step of the sum in the middle case."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.comparing.to_buy import MachineMoney, to_buy, unpriced
from evener.enquiry.refused import Refused
from evener.enquiry.widths import with_widths
from evener.ranking.arrangement import kind
from evener.ranking.costed import Costed, costed
from evener.results.answer import KEPT, Answer
from evener.results.explanation import WorkedStep, worked
from evener.scoring.core.draws import Draws
from evener.scoring.core.trace import Trace
from evener.scoring.decision.sizing import size_job
from evener.scoring.money.costs import yearly_cost
from evener.scoring.money.machines import bought
from evener.scoring.money.prices import priced
from evener.scoring.money.terms import NoMoney
from evener.scoring.questions.whole_place import decide_place

if TYPE_CHECKING:
    from evener.enquiry.enquiry import Enquiry
    from evener.schema.records import Tractor
    from evener.scoring.core.printing import Units
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost


@dataclass(frozen=True)
class TaskMoney:
    """One task with one tractor, in a year of the years held, on the mean.

    Attributes
    ----------
    task : its name
    kind : listed, may be hired, planned, or not named
    comes : how likely it is there in a year
    does : share of the draws in which the tractor does it
    hours : what the tractor works at it [h]
    fuel : what it burns at it
    running : fuel, oil and driver
    there : what a tractor that is there takes for it instead
    hired : what is hired of it
    machine : its share of what a machine that is still to be bought costs
    rate, rate_unit, rate_source, rate_status : what hire is charged at
    """

    task: str
    kind: str
    comes: float
    does: float
    hours: float
    fuel: Fuel
    running: float
    there: float
    hired: float
    machine: float
    rate: float
    rate_unit: str
    rate_source: str
    rate_status: str


@dataclass(frozen=True)
class Fuel:
    """Fuel in a year."""

    middle: float
    unit: str = "L"


@dataclass(frozen=True)
class Year:
    """One year of those held: ownership and repair, machines to buy, and what the work costs that is there by then."""

    year: int
    owning: float
    machines: float
    running: float
    hired: float
    undone: float
    total: float


@dataclass(frozen=True)
class TermUsed:
    """One figure the sum rests on, in its own measure: the sheet's own, or of custom, with what is usual."""

    name: str
    value: float
    low: float
    high: float
    measure: str
    source: str
    status: str


@dataclass(frozen=True)
class CostSheet(Answer):
    """What one tractor costs on a place in a year.

    Attributes
    ----------
    place : name of the place
    currency : of all money
    tractor : the tractor with its money
    hire_all : what it costs to buy nothing and hire all
    tasks : task by task
    machines : that are still to be bought, as far as a price is known
    unpriced : names of tasks whose machine is still to be bought, and no price of such machines is known
    years : year by year
    terms : what the sum rests on
    steps : every step in the middle case: every uncertain input at its middle
    """

    place: str
    currency: str
    tractor: Costed
    hire_all: float
    tasks: tuple[TaskMoney, ...]
    machines: tuple[MachineMoney, ...]
    unpriced: tuple[str, ...]
    years: tuple[Year, ...]
    terms: tuple[TermUsed, ...]
    steps: tuple[WorkedStep, ...]
    enquiry: Enquiry = field(repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per task.

        Parameters
        ----------
        units : "si" or "us"
        """
        turned = self.to_dict(units)
        own = {"tractor_id": self.tractor.tractor_id, "currency": self.currency}
        return [
            own | {name: value for name, value in one.items() if name != "fuel"} | {"fuel": one["fuel"]["middle"]}
            for one in turned["tasks"]
        ]


def cost(enquiry: Enquiry, tractor_id: str | None = None) -> CostSheet:
    """Return what a tractor costs in a year.

    Parameters
    ----------
    enquiry : the job and the records
    tractor_id : id of a tractor record of any kind; the one that costs least when left out

    Raises
    ------
    evener.NoSuchTractor, evener.Refused
        There is no such record, its power is not known, or no money can be reckoned.
    """
    decision, found = reckoned(enquiry, tractor_id)
    one = found[0]
    terms = decision.terms
    return CostSheet(
        place=enquiry.job.place.name,
        currency=terms.currency,
        tractor=costed(one, one.expected, decision),
        hire_all=decision.reckoned.hire_all,
        tasks=_tasks(decision, one),
        machines=to_buy(decision, one),
        unpriced=unpriced(decision),
        years=_years(decision, one),
        terms=tuple(
            TermUsed(name, each.value, each.low, each.high, each.unit, each.source, each.status)
            for name, each in terms.figures.items()
        ),
        steps=worked(_middle(enquiry, one.valued.tractor).steps),
        enquiry=enquiry,
    )


def reckoned(enquiry: Enquiry, *tractor_ids: str | None) -> tuple[Decision, list[YearlyCost]]:
    """Return a job with its money, and what tractors cost, in the order asked; the cheapest for None.

    Parameters
    ----------
    enquiry : the job and the records
    tractor_ids : ids of tractor records

    Raises
    ------
    evener.NoSuchTractor, evener.Refused
        There is no such record, its power is not known, or no money can be reckoned.
    """
    enquiry, _ = with_widths(enquiry)
    sizing = size_job(enquiry.job, enquiry.library)
    chosen = [None if one is None else enquiry.tractor(one) for one in tractor_ids]
    silent = next((one for one in chosen if one is not None and not one.pto_power_kw), None)
    if silent is not None:
        raise Refused(f"the power of {silent.tractor_id} at the PTO is not known: nothing can be reckoned of it")
    try:
        decision = decide_place(sizing, enquiry.tractors)
    except NoMoney as reason:
        raise Refused(str(reason)) from None
    if not decision.work.tasks:
        raise Refused("no task of the sheet is left to be sized. See: evener check")
    candidates = [one for one in enquiry.tractors if one.kind in enquiry.among]
    cheapest = decision.pick(decision.cost(candidates)) if None in chosen else None
    found = [cheapest if one is None else decision.cost([one])[0] for one in chosen]
    if any(one is None for one in found):
        raise Refused(f"no record of kind {' or '.join(enquiry.among)} can be picked. See: evener list tractors")
    return decision, [one for one in found if one is not None]


def _middle(enquiry: Enquiry, tractor: Tractor) -> Trace:
    """Return the steps of the sum with every uncertain input at its middle."""
    trace = Trace(on=True)
    sizing = size_job(with_widths(enquiry)[0].job, enquiry.library, Draws(n=1))
    decision = decide_place(sizing, enquiry.tractors)
    valued = priced(tractor, enquiry.library, enquiry.job.money, decision.terms)
    yearly_cost(valued, decision.ways([tractor])[0], decision.reckoned, trace)
    for one in decision.work.machines:
        bought(one.name, one.wanted, one.tasks, one.price, enquiry.library, decision.terms, trace)
    return trace


def _tasks(decision: Decision, one: YearlyCost) -> tuple[TaskMoney, ...]:
    found = []
    for task, spent in zip(decision.work.tasks, one.tasks, strict=True):
        found.append(
            TaskMoney(
                task=task.name,
                kind=kind(decision, task.name),
                comes=float(task.weight.mean()),
                does=spent.does,
                hours=spent.hours,
                fuel=Fuel(spent.litres),
                running=spent.running,
                there=spent.there,
                hired=spent.hired,
                machine=spent.machine,
                rate=task.charged.rate.amount,
                rate_unit=task.charged.rate.unit,
                rate_source=task.charged.source,
                rate_status=task.charged.status,
            )
        )
    return tuple(found)


def _years(decision: Decision, one: YearlyCost) -> tuple[Year, ...]:
    """Return each year held; a plan is there from its year on, with its chance."""
    held, zero = decision.terms["years"], int(decision.terms["year_zero"])
    found = []
    for year in range(1, round(held) + 1):
        running = hired = machines = 0.0
        for task, spent in zip(decision.work.tasks, one.tasks, strict=True):
            if task.years > 0 and year > held * (1 - task.years) + 0.5:
                running += (spent.running + spent.there) / task.years
                hired += spent.hired / task.years
                machines += spent.machine / task.years
        owning, undone = one.ownership + one.repair, one.beyond + one.changed
        whole = owning + machines + running + hired + undone
        found.append(Year(zero + year - 1, owning, machines, running, hired, undone, whole))
    return tuple(found)
