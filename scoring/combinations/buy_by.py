"""What to buy a machine by for a tractor: a rating and a mass not to pass, or one on its own wheels instead."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations.asked import asked_at_least
from evener.scoring.combinations.hard_axes import HARD, SURE, stand_up
from evener.scoring.combinations.outcomes import enough, task_outcome
from evener.scoring.combinations.part_load import with_share
from evener.scoring.core.draws import median, quantile
from evener.scoring.core.setting import CannotSize, Setting
from evener.scoring.mechanics.stance.machine_mass import full_mass
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place import loads, masses
from evener.scoring.place.terms import RAISED, Raised

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Mask
    from evener.scoring.gives.offer import Offer

TRAILED = "trailed"
RATED = frozenset({"rated", "fitted"})
HALVINGS = 10
NEAR, FAR = 0.01, 2.0


@dataclass(frozen=True)
class Limits:
    """What to buy a machine by.

    Attributes
    ----------
    rating_kw : its rating must not be above this [kW]; None where it has none
    mass_kg : its mass, empty, must not be above this [kg]; None where it runs on wheels, or the limit is far off
    """

    rating_kw: float | None
    mass_kg: float | None


def limits(setting: Setting, task: Task, asked: TaskDemands, offer: Offer, level: float) -> Limits:
    """Return what a machine of a task must not pass to go with a tractor.

    Parameters
    ----------
    setting, task, asked : the job, the task and what it asks
    offer : the tractor
    level : how surely an axis has to be met [1]
    """
    rating = next((_rating(one, offer, level) for one in asked.demands if one.axis == "pto_power"), None)
    return Limits(rating, _mass(setting, task, asked, offer, level))


def _rating(demand: Demand, offer: Offer, level: float) -> float | None:
    easy = demand.estimates[0].easy if demand.estimates else None
    has = offer.on(demand).draws
    if demand.basis not in RATED or easy is None or has is None:
        return None
    # What work and hill add to the least that is asked goes with the rating.
    most = easy[0] * has / asked_at_least(demand, offer.block)[0]
    return min(quantile(np.asarray(most), 1 - level), median(has))


def _mass(setting: Setting, task: Task, asked: TaskDemands, offer: Offer, level: float) -> float | None:
    carried = [one for one in asked.demands if one.axis == "rear_lift" or _raised(one)]
    if not carried:
        return None
    empty, load = masses.machine(setting, task).mass_kg, loads.payload(setting, task)
    held = np.zeros(setting.draws.n) if load is None else load.mass_kg
    usual = median(empty)

    def goes(mass: float) -> bool:
        share = full_mass(mass, m_load=held) / full_mass(empty, m_load=held)
        return all(_bears(_scaled(one, np.asarray(share)), offer, level) for one in carried)

    try:
        if goes(FAR * usual) or not goes(NEAR * usual):
            return None
        least, most = NEAR * usual, FAR * usual
        for _ in range(HALVINGS):
            mass = (least + most) / 2
            least, most = (mass, most) if goes(mass) else (least, mass)
    except OutOfRange:
        return None
    return least


def _raised(demand: Demand) -> bool:
    return isinstance(demand.terms, Raised) and demand.terms.how == RAISED


def _scaled(demand: Demand, share: np.ndarray) -> Demand:
    """Return what a machine with its load asks that weighs so many times what this one does, all of its load taken."""
    whole = with_share(demand, 1.0)
    return replace(whole, alpha=whole.alpha * share, beta=whole.beta * share)


def _bears(demand: Demand, offer: Offer, level: float) -> bool:
    holds = enough(demand, offer.block)
    if demand.axis in HARD:
        return bool(np.mean(stand_up(demand, offer.block, holds)[0]) >= level - 1e-9)
    return bool(np.mean(np.broadcast_to(holds[0], (offer.draws.n,))) >= max(level, SURE) - 1e-9)


def does_it_trailed(setting: Setting, task: Task, offer: Offer, keep: Mask, level: float) -> bool:
    """Return whether a tractor does a task surely enough with a trailed machine, where its family has such ones.

    Parameters
    ----------
    setting, task, offer : the job, the task and the tractor
    keep : the draws that count
    level : how surely [1]
    """
    if task.have or setting.record(task) is not None:
        return False
    if not any(one.attachment == TRAILED for one in setting.library.of_family(task.family)):
        return False
    aside = Setting(setting.job, setting.library, setting.draws)
    try:
        asked = demands_of(aside, replace(task, attachment=TRAILED))
    except CannotSize:
        return False
    met = task_outcome(asked, offer.block).met[0][keep]
    return bool(np.count_nonzero(met) >= level * met.size - 1e-9)
