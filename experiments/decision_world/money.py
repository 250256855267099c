"""What a choice costs a customer over the years, by published equations and the world's own prices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from experiments.decision_world.customers import Customer, Job
from experiments.decision_world.figures import Tractor, rows, tractors, values
from experiments.decision_world.needs import People, done
from experiments.decision_world.truths import Truth

KW = 0.745699872


@cache
def price(tractor: Tractor) -> float:
    """Return the price of a tractor, new, with loader."""
    table = rows("prices")
    kw, prices = ([float(row[name]) for row in table] for name in ("pto_kw", "price"))
    found = float(np.exp(np.interp(np.log(tractor.pto_hp * KW), np.log(kw), np.log(prices))))
    return found * (values("money")["two-wheel drive"] if tractor.drive == "2wd" else 1.0)


@cache
def owning(tractor: Tractor, hours: int) -> float:
    """Return what a tractor held over the years and used so many hours a year costs a year, without running it."""
    figures, paid, kw = values("money"), price(tractor), tractor.pto_hp * KW
    years, interest = figures["years"], figures["interest"]
    row = next(row for row in rows("remaining_value") if kw < float(row["below_kw"]))
    root = float(row["c1"]) - float(row["c2"]) * years**0.5 - float(row["c3"]) * hours**0.5
    left = paid * max(root, 0.0) ** 2
    recovery = interest * (1 + interest) ** years / ((1 + interest) ** years - 1)
    worn = paid * figures["repair factor"] * (years * hours / 1000) ** figures["repair exponent"] / years
    return (paid - left) * recovery + left * interest + figures["tax insurance housing"] * paid + worn


def running(tractor: Tractor) -> float:
    """Return what an hour of a tractor's work costs: driver and fuel."""
    figures = values("money")
    return figures["wage"] + figures["fuel"] * tractor.pto_hp * KW * figures["fuel price"]


@dataclass(frozen=True)
class Outcome:
    """What a tractor comes to for one customer.

    Attributes
    ----------
    costs : over the years
    does_all : whether it does all that comes
    unsafe : whether it is unsafe at some work of today
    """

    costs: float
    does_all: bool
    unsafe: bool


@dataclass(frozen=True)
class Years:
    """What each class comes to for one customer as things really are.

    Attributes
    ----------
    by_class : outcomes in the order of the classes
    """

    by_class: tuple[Outcome, ...]

    @property
    def least(self) -> float:
        """What the best class costs."""
        return min(one.costs for one in self.by_class)

    @property
    def needed(self) -> Tractor:
        """The smallest class that does all that comes, or the largest where none does."""
        enough = (tractor for tractor, one in zip(tractors(), self.by_class, strict=True) if one.does_all)
        return next(enough, tractors()[-1])

    def of(self, tractor: Tractor) -> Outcome:
        """Return the outcome of one class."""
        return self.by_class[tractors().index(tractor)]


def years(customer: Customer, truth: Truth, who: People) -> Years:
    """Return what each class costs a customer over the years, as things really are.

    Work of today that the tractor does not do is hired for a year, which saves nothing against owning the right one;
    then the customer changes to the class that does it all most cheaply. Where none does, it is hired throughout. A
    plan that it does not do is hired, or the tractor changed when it comes, whichever costs less.
    """
    figures, classes = values("money"), tractors()
    comes = [job for job in customer.jobs if truth.jobs[job.name].comes]
    does = {job.name: [done(tractor, job, truth, who) for tractor in classes] for job in comes}
    hours = int(figures["base hours"] + sum(job.hours for job in comes))
    of_today = [job for job in comes if job.chance == 1 and any(one.does for one in does[job.name])]
    later = [job for job in comes if job.chance < 1 and any(one.does for one in does[job.name])]
    yearly = np.array([_yearly(tractor, i, comes, does, hours) for i, tractor in enumerate(classes)])
    fails_today = np.array([any(not does[job.name][i].does for job in of_today) for i in range(len(classes))])
    fails_later = np.array([any(not does[job.name][i].does for job in later) for i in range(len(classes))])
    span, begin = int(figures["years"]), int(figures["plan year"])
    change = np.array([figures["lost at once when changing size"] * price(one) for one in classes])
    change += figures["cost of a lost season"]
    hired = np.array([_hired(later, does, i) for i in range(len(classes))])
    undone = sum(_hire(job) for job in comes if not any(one.does for one in does[job.name]))
    enough = np.where(fails_today | fails_later, np.inf, yearly)
    today = np.where(fails_today, np.inf, yearly + hired)
    best_all, best_today = float(enough.min(initial=np.inf)), float(today.min(initial=np.inf))
    best = min(best_all, best_today)
    stay = yearly * span + hired * (span - begin)
    leave = yearly * begin + change + best_all * (span - begin)
    costs = np.where(fails_later, np.minimum(stay, leave), yearly * span)
    first = np.array([_hired(of_today, does, i) for i in range(len(classes))]) + np.maximum(yearly, best)
    costs = np.where(fails_today, first + change + best * (span - 1), costs) + undone * span
    unsafe = [any(not does[job.name][i].safe for job in of_today) for i in range(len(classes))]
    all_done = ~(fails_today | fails_later)
    return Years(tuple(Outcome(float(costs[i]), bool(all_done[i]), unsafe[i]) for i in range(len(classes))))


def _yearly(tractor: Tractor, i: int, comes: Sequence[Job], does: dict[str, list], hours: int) -> float:
    """Return what a tractor costs a year with the work that it does, slower where it is short."""
    worked = sum(job.hours * does[job.name][i].slower for job in comes if does[job.name][i].does)
    return owning(tractor, hours) + running(tractor) * worked


def _hire(job: Job) -> float:
    figures = values("money")
    return job.hours * job.hire_per_hour * figures["hire markup"] + job.times * figures["call-out"]


def _hired(jobs: Sequence[Job], does: dict[str, list], i: int) -> float:
    return sum(_hire(job) for job in jobs if not does[job.name][i].does)
