"""The choice that costs least: each tractor's expected yearly cost over the shared draws, with what is there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.scoring.asks.tasks import demands_of
from evener.scoring.combinations.buy_by import limits
from evener.scoring.core.setting import CannotSize
from evener.scoring.core.trace import Trace
from evener.scoring.decision.amounts import yearly
from evener.scoring.decision.buying import to_buy, with_machines
from evener.scoring.decision.doing import ways, ways_of
from evener.scoring.gives.offer import offer
from evener.scoring.money import costs
from evener.scoring.money.costs import Reckoning
from evener.scoring.money.mean_cost import MeanCosts
from evener.scoring.money.prices import SPARING, priced
from evener.scoring.money.references import References
from evener.scoring.money.terms import Terms, terms
from evener.scoring.money.yearly_work import running

if TYPE_CHECKING:
    from evener.schema.records import Task, Tractor
    from evener.scoring.combinations.buy_by import Limits
    from evener.scoring.core.demand import TaskDemands
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.decision.sizing import Sizing
    from evener.scoring.gives.offer import Offer
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.money.machines import Bought
    from evener.scoring.money.yearly_work import Done, YearlyTask

SPARING_SLOPE = 0.06
NEEDS_ALL_WHEELS = ("snow", "handling")
NONE = References({}, np.zeros(0), {})


@dataclass(frozen=True)
class Work:
    """All that is reckoned with on a place: the tasks of the sheet and the gaps of it.

    Attributes
    ----------
    tasks : with their money
    demands : what each asks, in the same order
    unsaid : names of those whose hours are taken and not known
    machines : that are still to be bought, as far as a price is known
    """

    tasks: tuple[YearlyTask, ...]
    demands: tuple[TaskDemands, ...]
    unsaid: tuple[str, ...]
    machines: tuple[Bought, ...] = ()


@dataclass(frozen=True)
class Decision:
    """A job with money: what each tractor costs in a year.

    Attributes
    ----------
    sizing : the job
    work : what is reckoned with
    reckoned : what every tractor is reckoned by
    terms : the terms
    classes : the generic classes, with what stands in for what a record does not state
    takes : by task, the name of the tractor there that does it for least in most draws, where one does
    """

    sizing: Sizing
    work: Work
    reckoned: Reckoning
    terms: Terms
    classes: tuple[Tractor, ...]
    takes: Mapping[str, str] = field(default_factory=dict)
    _known: dict[str, tuple[Tractor, Mapping[str, Done]]] = field(default_factory=dict, compare=False, repr=False)
    _means: MeanCosts = field(default_factory=MeanCosts, compare=False, repr=False)

    def cost(self, tractors: Sequence[Tractor]) -> list[YearlyCost]:
        """Return what tractors cost in a year, the least expected first; a tractor of unknown power is left out.

        Parameters
        ----------
        tractors : records of any kind
        """
        setting = self.sizing.setting
        able = [one for one in tractors if one.pto_power_kw]
        found = [
            costs.yearly_cost(priced(one, setting.library, setting.job.money, self.terms), way, self.reckoned)
            for one, way in zip(able, self.ways(able), strict=True)
        ]
        return sorted(found, key=_place)

    def means(self, tractors: Sequence[Tractor]) -> dict[str, float]:
        """Return by id what tractors cost in a year, the mean alone, as `cost` does at more length [money/yr].

        Parameters
        ----------
        tractors : records of any kind, the power of which is known
        """
        setting = self.sizing.setting
        return {
            one.tractor_id: self._means.of(
                self._means.priced(one, setting.library, setting.job.money, self.terms), way, self.reckoned
            )
            for one, way in zip(tractors, self.ways(tractors), strict=True)
        }

    def least(self, tractors: Sequence[Tractor]) -> Tractor | None:
        """Return which tractor costs least among those that may be picked; the smaller where two cost the same."""
        means = self.means(tractors)
        able = [one for one in tractors if self.eligible(one)]
        return min(able, key=lambda one: (means[one.tractor_id], one.pto_power_kw or 0.0, one.tractor_id), default=None)

    def cost_of(self, offer: Offer) -> YearlyCost:
        """Return what one tractor costs with what it offers."""
        setting, by_name = self.sizing.setting, {task.name: task.amounts for task in self.work.tasks}
        way = ways_of(offer.block, self.work.demands, by_name, self.terms)[0]
        valued = priced(offer.record, setting.library, setting.job.money, self.terms)
        return costs.yearly_cost(valued, way, self.reckoned)

    def ways(self, tractors: Sequence[Tractor]) -> list[Mapping[str, Done]]:
        """Return how each tractor does each task; worked out once for all that ask."""
        missing = [one for one in tractors if self._known.get(one.tractor_id, (None,))[0] is not one]
        by_name = {task.name: task.amounts for task in self.work.tasks}
        draws = self.sizing.setting.draws
        done = ways(self.work.demands, by_name, missing, self.classes, draws=draws, terms=self.terms)
        self._known.update({one.tractor_id: (one, way) for one, way in zip(missing, done, strict=True)})
        return [self._known[one.tractor_id][1] for one in tractors]

    @property
    def worked_out(self) -> list[Tractor]:
        """Tractors of which it is known how they do each task."""
        return [one for one, _ in self._known.values()]

    def buy_by(self, tractor: Tractor) -> dict[str, Limits]:
        """Return by task what a machine to be bought for it must not pass to go with a tractor."""
        setting = self.sizing.setting
        offered = offer(tractor, self.classes, setting.draws)
        by_name = {task.name: task for task in setting.job.tasks}
        return {
            one.task: limits(setting, by_name[one.task], one, offered, self.sizing.confidence)
            for one in self.sizing.tasks
        }

    def if_plans(self, *, come: bool) -> Decision:
        """Return the decision with every plan come true, or with today's work alone; all else stays in its draws."""
        planned = {task.name for task in self.sizing.setting.job.tasks if task.planned}
        gaps = set() if come else {task.name for task in self.work.tasks if task.gap}
        return self.if_so(dict.fromkeys(planned | gaps, come))

    def if_so(self, comes: Mapping[str, bool]) -> Decision:
        """Return the decision with some plans come true, which lists them, or never; all else stays in its draws."""
        n = self.sizing.setting.draws.n
        hired = {task.name for task in self.sizing.setting.job.tasks if task.hire}
        tasks = []
        for task in self.work.tasks:
            if task.name not in comes:
                tasks.append(task)
            elif comes[task.name]:
                whole = np.ones(n, bool)
                tasks.append(replace(task, comes=whole, years=1.0, listed=not task.gap and task.name not in hired))
            else:
                tasks.append(replace(task, comes=np.zeros(n, bool)))
        return self.reckoned_with(replace(self.work, tasks=tuple(tasks)), self.terms)

    def otherwise(self, **values: float) -> Decision:
        """Return the decision with terms other than the job's."""
        return self.reckoned_with(self.work, self.terms.otherwise(**values))

    def reckoned_with(self, work: Work, taken: Terms) -> Decision:
        """Return the decision with other work or other terms; what tractors do stays."""
        setting = self.sizing.setting
        known = [one for one in self.classes if one.pto_power_kw and self.eligible(one)]
        done = self.ways(known)
        fleet = [self._means.priced(one, setting.library, setting.job.money, taken) for one in known]
        reckoned = costs.reckoning(work.tasks, fleet, done, self.reckoned.there, taken, setting.library)
        return replace(self, work=work, reckoned=reckoned, terms=taken)

    def eligible(self, tractor: Tractor) -> bool:
        """Tell whether a tractor may be the pick."""
        return may_be_picked(self.sizing.setting, tractor)

    def pick(self, found: Sequence[YearlyCost]) -> YearlyCost | None:
        """Return the choice that costs least among those that may be picked."""
        return next((one for one in found if self.eligible(one.valued.tractor)), None)


def decide(
    sizing: Sizing,
    classes: Sequence[Tractor],
    *,
    gaps: Sequence[tuple[Task, float]] = (),
    put_back: Sequence[str] = (),
    there: Sequence[Tractor] = (),
) -> Decision:
    """Return the decision of a job.

    Parameters
    ----------
    sizing : the job
    classes : the generic classes: what work left undone is measured by, as far as they may be the pick
    gaps : work that nobody named, each with the chance that there is such work
    put_back : tasks that a tractor there was said to take and does not do
    there : tractors that are there, as far as their figures are known

    Raises
    ------
    NoMoney
        The sheet's currency is not the tables', and what theirs is worth is not said.
    """
    setting = sizing.setting
    taken = terms(setting.job.money, setting.library)
    work = _work(sizing, gaps, put_back, taken)
    least, takes = _there(work, there, classes, setting, taken)
    nobody = Reckoning((), least, NONE, taken, setting.library)
    return Decision(sizing, work, nobody, taken, tuple(classes), takes).reckoned_with(work, taken)


def may_be_picked(setting: Setting, tractor: Tractor) -> bool:
    """Tell whether a tractor may be the pick: one driven by two wheels only on easy ground without pushing."""
    return tractor.drive not in SPARING or all_wheels_not_needed(setting)


def all_wheels_not_needed(setting: Setting) -> bool:
    """Tell whether the ground is easy and no work listed pushes or lifts in front, so that two driven wheels may do."""
    job = setting.job
    slopes = [job.place.slope, *(task.slope for task in job.tasks if task.slope is not None)]
    easy = all(one.middle is not None and one.middle < SPARING_SLOPE for one in slopes)
    groups = {setting.family(task).group for task in job.tasks}
    return easy and not groups & set(NEEDS_ALL_WHEELS)


def _work(sizing: Sizing, gaps: Sequence[tuple[Task, float]], put_back: Sequence[str], taken: Terms) -> Work:
    setting = sizing.setting
    by_name = {task.name: task for task in setting.job.tasks}
    asked: list[tuple[Task, TaskDemands, float | None]] = [(by_name[one.task], one, None) for one in sizing.tasks]
    more: list[tuple[Task, float | None]] = [(by_name[name], None) for name in put_back if name in by_name]
    more += [(task, chance * taken["gap_weight"]) for task, chance in gaps if task.name not in by_name]
    asked += [(task, found, chance) for task, chance in more if (found := _demands(setting, task)) is not None]
    tasks, unsaid = [], []
    for task, demands, chance in asked:
        one, known = yearly(setting, task, chance, taken)
        tasks.append(one)
        if not known:
            unsaid.append(demands.task)
    machines = to_buy(setting, tasks, taken)
    work = with_machines(tasks, machines)
    return Work(work, tuple(demands for _, demands, _ in asked), tuple(unsaid), machines)


def _demands(setting: Setting, task: Task) -> TaskDemands | None:
    try:
        return demands_of(setting, task)
    except CannotSize:
        return None


def _there(
    work: Work, there: Sequence[Tractor], classes: Sequence[Tractor], setting: Setting, taken: Terms
) -> tuple[Mapping[str, Array], Mapping[str, str]]:
    """Return by task what the cheapest tractor that is there takes, infinite where none does it; and which that is."""
    least = {task.name: np.full(setting.draws.n, np.inf) for task in work.tasks}
    known = [one for one in there if one.pto_power_kw]
    by_name = {task.name: task.amounts for task in work.tasks}
    done: list[dict[str, Done]] = ways(work.demands, by_name, known, classes, draws=setting.draws, terms=taken)
    silent = Trace(on=False)
    by = {task.name: np.full(setting.draws.n, -1) for task in work.tasks}
    for at, (one, way) in enumerate(zip(known, done, strict=True)):
        for name, how in way.items():
            spent = np.where(how.does, running(how, one.pto_power_kw or 0.0, taken, silent), np.inf)
            by[name] = np.where(spent < least[name], at, by[name])
            least[name] = np.minimum(least[name], spent)
    takes = {}
    for name, who in by.items():
        counts = np.bincount(who[who >= 0], minlength=1)
        if counts.any():
            takes[name] = known[int(counts.argmax())].label
    return least, takes


def _place(one: YearlyCost) -> tuple[float, float, str]:
    tractor = one.valued.tractor
    return one.expected, tractor.pto_power_kw or 0.0, tractor.tractor_id
