"""What is done instead: weights that the verdict rests on, and ballast or a smaller machine that would close a gap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.scoring.advice.loader_stance import loader_stance, most_in_the_tool
from evener.scoring.asks import tow
from evener.scoring.combinations.asked import asked_of
from evener.scoring.combinations.buy_by import does_it_trailed
from evener.scoring.combinations.hard_axes import HARD, SURE, stand_up
from evener.scoring.combinations.outcomes import enough, present
from evener.scoring.combinations.part_load import shares, with_share
from evener.scoring.core.draws import median, quantile
from evener.scoring.core.setting import CannotSize
from evener.scoring.gives.gates import BUSHINGS, PTO_GEAR, needs_fitted
from evener.scoring.mechanics.stance import balance, towing
from evener.scoring.mechanics.validity import OutOfRange
from evener.scoring.place.going import speed_of
from evener.scoring.place.sizes import size
from evener.scoring.place.terms import RAISED, Raised, Snow, Soil

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.combinations.margins import TaskFit
    from evener.scoring.core.demand import Demand, TaskDemands
    from evener.scoring.core.draws import Array, Mask
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer

LEAST_WEIGHT = 0.005
MOST_BALLAST = 0.5
ADAPTERS = {
    BUSHINGS: "bushings or balls for the machine's smaller hitch category",
    PTO_GEAR: "a reduction gear from 1000 to 540 rpm on the PTO stub",
}
DRAWN = {"draft", "tow", "ground"}


@dataclass(frozen=True)
class Remedy:
    """One thing that a task needs fitted, or that would close a gap.

    Attributes
    ----------
    task, axis : what it is for
    kind : adapter, front_weights, rear_weights, counterweight, part_load, ballast, narrower, slower, lighter,
        trailed, brakes, chains or own_pump
    text : in words, without the amount
    amount, unit : how much, where that is a number
    needed : whether the task counts as met only with it; otherwise it would close a gap
    """

    task: str
    axis: str
    kind: str
    text: str
    amount: float | None = None
    unit: str = "kg"
    needed: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {
            "task": self.task,
            "axis": self.axis,
            "kind": self.kind,
            "text": self.text,
            "amount": self.amount,
            "unit": self.unit,
            "needed": self.needed,
        }


def remedies(sizing: Sizing, offer: Offer, details: Sequence[TaskFit]) -> list[Remedy]:
    """Return what one tractor's work needs fitted, then what would close its gaps, task by task.

    Parameters
    ----------
    sizing : the job
    offer : the tractor
    details : its margins, in the order of the sizing's tasks
    """
    by_name = {task.name: task for task in sizing.setting.job.tasks}
    found: list[Remedy] = []
    for asked, detail in zip(sizing.tasks, details, strict=True):
        comes = present(asked, sizing.setting.draws)
        keep = comes if comes.any() else np.ones_like(comes)
        found += _adapters(asked, offer)
        for demand, axis in zip(asked.demands, detail.axes, strict=True):
            one = _Gap(sizing, offer, by_name[asked.task], keep, axis.level)
            # Outside the range of the formulas there is no amount to name; `checks` says so.
            with suppress(OutOfRange):
                found += list(one.of(demand, short=axis.short))
    return sorted(found, key=lambda remedy: not remedy.needed)


def _adapters(task: TaskDemands, offer: Offer) -> Iterator[Remedy]:
    for gate in task.gates:
        name = needs_fitted(offer.block, gate)[0]
        if name is not None:
            yield Remedy(task.task, gate.axis, "adapter", ADAPTERS[name], needed=True)


@dataclass(frozen=True)
class _Gap:
    """One axis of one task of one tractor; `level` is how surely it has to be met."""

    sizing: Sizing
    offer: Offer
    task: Task
    keep: Mask
    level: float

    def of(self, demand: Demand, *, short: bool) -> Iterator[Remedy]:
        """Yield the remedies of one demand."""
        if demand.axis in {"front_axle", "rear_axle"}:
            yield from self._weights(demand, short=short)
        elif demand.axis == "loader_lift":
            yield from self._counterweight(demand)
        if demand.least_load < 1.0 and not short:
            yield from self._part_load(demand)
        if not short or self.offer.on(demand).draws is None:
            return
        makers = {
            "pto_power": self._power,
            "drawbar_pull": self._pull,
            "tow_mass": self._towed,
            "hydraulic_flow": self._oil,
            "rear_lift": self._lighter,
            "loader_lift": self._lighter,
        }
        if demand.axis in makers:
            yield from makers[demand.axis](demand)

    def _most(self, values: Array) -> float:
        """Return what surely is enough."""
        return quantile(values[self.keep], self.level)

    def _least(self, values: Array) -> float:
        """Return what surely is not too much."""
        return quantile(values[self.keep], 1 - self.level)

    def _fix(self, demand: Demand, kind: str, text: str, amount: float | None = None, unit: str = "kg") -> Remedy:
        return Remedy(demand.task, demand.axis, kind, text, amount, unit)

    def _spare(self, demand: Demand) -> Array:
        """Return capacity over demand per draw."""
        capacity = self.offer.on(demand).draws
        return np.ones(self.keep.size) if capacity is None else capacity / asked_of(demand, self.offer)

    def _weights(self, demand: Demand, *, short: bool) -> Iterator[Remedy]:
        terms = demand.terms
        tractor = self.offer.stands(self.sizing.setting)
        if tractor is None or not isinstance(terms, Raised):
            return
        reach = demand.alpha / demand.beta
        if terms.rear:
            weights = balance.front_ballast(
                demand.beta,
                T_L=tractor.mass_kg,
                T_V=tractor.front_kg,
                a=tractor.weights_ahead_m,
                b=tractor.base_m,
                c=tractor.behind_m,
                d=reach,
            )
        else:
            weights = balance.rear_ballast(
                demand.beta,
                T_L=tractor.mass_kg,
                T_H=tractor.rear_kg,
                a=tractor.ahead_m + reach,
                b=tractor.base_m,
                c=tractor.behind_m,
                d=np.maximum(tractor.weights_behind_m - tractor.behind_m, 0.0),
            )
        amount = self._most(np.asarray(weights))
        if amount > LEAST_WEIGHT * median(tractor.mass_kg):
            where = "front" if terms.rear else "rear"
            more = ", more than a usual set" if short else ""
            text = f"{where} weights{more}, at least"
            yield Remedy(demand.task, demand.axis, f"{where}_weights", text, amount, needed=not short)
        if short:
            heaviest = self._least(demand.beta * self._spare(demand))
            what = "a machine that weighs, full, at most" if terms.how == RAISED else "a tongue load of at most"
            yield self._fix(demand, "lighter", what, heaviest)
            setting = self.sizing.setting
            if terms.how == RAISED and does_it_trailed(setting, self.task, self.offer, self.keep, self.level):
                yield self._fix(demand, "trailed", "a machine of that size on its own wheels", None)

    def _part_load(self, demand: Demand) -> Iterator[Remedy]:
        """Say which part of the load may be taken where the full one is too much."""
        for share in shares(demand):
            part = with_share(demand, share)
            holds = enough(part, self.offer.block)
            held = stand_up(part, self.offer.block, holds) if demand.axis in HARD else holds
            if self._surely(held[0]):
                if share < 1.0:
                    text = "the load kept to at most"
                    yield Remedy(demand.task, demand.axis, "part_load", text, share * 100, "%", needed=True)
                return

    def _surely(self, holds: Mask) -> bool:
        kept = np.broadcast_to(holds, self.keep.shape)[self.keep]
        return bool(np.count_nonzero(kept) >= self.level * kept.size - 1e-9)

    def _counterweight(self, demand: Demand) -> Iterator[Remedy]:
        try:
            stance = loader_stance(self.sizing.setting, self.offer, self.task)
        except CannotSize:
            stance = None
        if stance is None:
            return
        allowed = most_in_the_tool(self.sizing.setting, self.offer, self.task, self.keep)
        if allowed is not None:
            text = "for the front axle a load in the tool of at most"
            yield Remedy(demand.task, demand.axis, "lighter", text, allowed, needed=True)
        amount = quantile(stance.counterweight_kg[self.keep], SURE)
        mass = self.offer.mass.value or 0.0
        if amount > LEAST_WEIGHT * mass:
            yield Remedy(
                demand.task,
                demand.axis,
                "counterweight",
                "a counterweight on the rear hitch, at least",
                amount,
                needed=True,
            )

    def _lighter(self, demand: Demand) -> Iterator[Remedy]:
        mass = demand.alpha * (1 - self.sizing.setting.job.policy.reserve_lift)
        if demand.axis == "rear_lift":
            heaviest = self._least(mass * self._spare(demand))
            yield self._fix(demand, "lighter", "a machine that weighs, full, at most", heaviest)
        else:
            share = self._least(self._spare(demand))
            yield self._fix(demand, "lighter", "tool and load together at most", share * 100, "%")

    def _power(self, demand: Demand) -> Iterator[Remedy]:
        setting = self.sizing.setting
        spare = self._spare(demand)
        speed, width = speed_of(setting, self.task), size(setting, self.task, "working_width_m")
        family = setting.family(self.task)
        if demand.basis == "computed" and family.power in DRAWN and speed is not None:
            yield self._fix(demand, "slower", "no faster than", self._least(speed.values * spare), "km/h")
        if family.first_variable == "working_width_m" and width is not None:
            yield self._fix(demand, "narrower", "a machine about as wide as", self._least(width.values * spare), "m")

    def _pull(self, demand: Demand) -> Iterator[Remedy]:
        setting, terms = self.sizing.setting, demand.terms
        pull, mass = self.offer.on(demand).draws, self.offer.mass.draws
        if pull is None or mass is None:
            return
        if isinstance(terms, Snow) and terms.tyres == "plain":
            chained = self.offer.on(replace(demand, terms=Snow("snow/chains", setting, "chains"))).draws
            if chained is not None and self._least(chained - asked_of(demand, self.offer)) >= 0:
                yield self._fix(demand, "chains", "chains on the driven wheels", None)
        per_kg = pull / mass - demand.beta
        if isinstance(terms, Soil) and self._least(per_kg) > 0:
            short = np.maximum(demand.alpha + demand.beta * mass - pull, 0.0)
            ballast = self._most(short / np.maximum(per_kg, 1e-9))
            allowed = (self.offer.tractor.max_mass_kg or np.inf) - median(mass)
            if ballast <= min(allowed, MOST_BALLAST * median(mass)):
                yield self._fix(demand, "ballast", "ballast on the driven wheels of about", ballast)
        share = np.maximum(pull - demand.beta * mass, 0.0) / demand.alpha
        width = size(setting, self.task, "working_width_m")
        if setting.family(self.task).draft_row is not None and width is not None:
            yield self._fix(demand, "narrower", "a tool no wider than", self._least(width.values * share), "m")
        else:
            yield self._fix(demand, "lighter", "machine and load together at most", self._least(share) * 100, "%")

    def _towed(self, demand: Demand) -> Iterator[Remedy]:
        most, mass = self.offer.on(demand).draws, self.offer.mass.draws
        if most is None or mass is None:
            return
        yield self._fix(demand, "lighter", "machine and load of at most", self._least(most))
        if tow.UNBRAKED in tow.brakes_of(self.sizing.setting, self.task):
            speed = speed_of(self.sizing.setting, self.task)
            row = tow.rule(self.sizing.setting, tow.BRAKED, speed.high if speed is not None else 0.0)
            braked = np.asarray(towing.towed_limit(mass, k=row["mass_ratio_max"]))
            if self._least(braked - demand.alpha) >= 0:
                text = "brakes on the towed machine, which allow it up to"
                yield self._fix(demand, "brakes", text, self._least(braked))

    def _oil(self, demand: Demand) -> Iterator[Remedy]:
        yield self._fix(demand, "own_pump", "a machine with a pump of its own on the PTO", None)
