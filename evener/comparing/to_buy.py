"""The machines still to be bought for a place, with their money."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.money.costs import YearlyCost
    from evener.scoring.money.machines import Bought


@dataclass(frozen=True)
class MachineMoney:
    """A machine still to be bought, with where its price comes from; what it costs in a year if it is bought."""

    machine: str
    family: str
    tasks: tuple[str, ...]
    price: float
    price_basis: str
    source: str
    status: str
    ownership: float
    repair: float


def to_buy(decision: Decision, one: YearlyCost) -> tuple[MachineMoney, ...]:
    """Return the machines whose work a tractor does in some draws, or one that is there does."""
    return tuple(_machine(each) for each in decision.work.machines if _used(each, one))


def unpriced(decision: Decision) -> tuple[str, ...]:
    """Return the tasks whose machine is still to be bought, and no price of such machines is known."""
    known = {name for one in decision.work.machines for name in one.tasks}
    named = {task.name for task in decision.work.tasks} - known
    return tuple(task.name for task in decision.sizing.setting.job.tasks if task.name in named and not task.have)


def _used(machine: Bought, one: YearlyCost) -> bool:
    return any(spent.does > 0 or spent.by_there > 0 for spent in one.tasks if spent.task in machine.tasks)


def _machine(one: Bought) -> MachineMoney:
    price = one.price
    return MachineMoney(
        machine=one.name,
        family=one.wanted.family,
        tasks=tuple(one.tasks),
        price=price.amount,
        price_basis=price.basis,
        source=price.source,
        status=price.status,
        ownership=one.ownership,
        repair=one.repair,
    )
