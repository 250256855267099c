"""The machines that a place still has to buy for its work, with what they cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from evener.scoring.core.draws import median
from evener.scoring.core.setting import CannotSize
from evener.scoring.money.machines import EACH, Bought, Wanted, bought, goes_by, price_of
from evener.scoring.money.prices import Price
from evener.scoring.place.loads import sized_by
from evener.scoring.place.machines import duty_of, kind_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.setting import Setting
    from evener.scoring.money.terms import Terms
    from evener.scoring.money.yearly_work import YearlyTask


def to_buy(setting: Setting, tasks: Sequence[YearlyTask], terms: Terms) -> tuple[Bought, ...]:
    """Return the machines that are to be chosen and whose price is known; tasks alike in place share one.

    Parameters
    ----------
    setting : the job
    tasks : the work; that which nobody named may have its machine
    terms : the terms
    """
    by_name = {task.name: task for task in setting.job.tasks}
    shared: dict[object, dict[str, float]] = {}
    first: dict[object, Task] = {}
    for one in tasks:
        task = by_name.get(one.name)
        if task is None or one.gap or task.have:
            continue
        key = task.machine or (task.implement_id, wanted(setting, task))
        first.setdefault(key, task)
        shared.setdefault(key, {})[one.name] = float((one.amounts.hours * one.weight).mean())
    found = (_one(setting, first[key], hours, terms) for key, hours in shared.items())
    return tuple(one for one in found if one is not None)


def wanted(setting: Setting, task: Task) -> Wanted:
    """Return the machine of a task by what its price goes by, at the middle of what is open."""
    by = goes_by(task.family, setting.library)
    return Wanted(task.family, _middle(setting, task, by), duty_of(task), kind_of(setting, task))


def _middle(setting: Setting, task: Task, by: str | None) -> float | None:
    """Return the middle of a machine's size; one machine of a kind whose price goes by no size."""
    if by == EACH:
        return 1.0
    try:
        size = None if by is None else sized_by(setting, task, by)
    except CannotSize:
        return None
    return None if size is None else median(size.values)


def with_machines(tasks: Sequence[YearlyTask], machines: Sequence[Bought]) -> tuple[YearlyTask, ...]:
    """Return the work with what its machines cost in a year, which tasks that share one share evenly."""
    share: Mapping[str, float] = {name: one.a_year / len(one.tasks) for one in machines for name in one.tasks}
    return tuple(replace(task, machine=share.get(task.name, 0.0)) for task in tasks)


def _one(setting: Setting, task: Task, hours: Mapping[str, float], terms: Terms) -> Bought | None:
    record, money, what = setting.record(task), setting.job.money, wanted(setting, task)
    price = price_of(what, setting.library, money, terms)
    if record is not None and record.price is not None:
        price = Price(record.price, record.price, record.price, "stated", record.source_id, record.status)
    if price is None or goes_by(task.family, setting.library) is None:
        return None
    return bought(task.machine or task.name, what, hours, price, setting.library, terms)
