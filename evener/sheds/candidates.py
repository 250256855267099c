"""What new tractors, machines and pairs could do of the work a shed misses, and which are worth planning with."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.schema.shed import usual
from evener.scoring.shed.jobs import tools_of

if TYPE_CHECKING:
    from evener.schema.shed import Shed
    from evener.scoring.shed.matrix import Matrix

TRIED = 6
KG_PER_KW = usual("kg_per_kw")  # so that machines and tractors stand in one order of cost
Thing = tuple[str, int]


class Search:
    """What single new things and pairs could do of the missed work."""

    def __init__(self, wider: Shed, wide: Matrix, missed: set[int], own: int, new_tools: set[int | None]) -> None:
        self.shed, self.wide, self.missed, self.own = wider, wide, missed, own
        self.tools = {tool.number: tool for tool in tools_of(wider)}
        self.does: dict[tuple[Thing, ...], set[int]] = {}
        self.masks: dict[tuple[tuple[Thing, ...], int], np.ndarray[Any, np.dtype[np.bool_]]] = {}
        self.hours: dict[int, float] = {}
        for place, cell in enumerate(wide.cells):
            if cell.task not in missed or not cell.covers or cell.hours is None:
                continue
            new: list[Thing] = [("tractor", cell.tractor)] if cell.tractor >= own else []
            new += [("machine", cell.machine)] if cell.machine is not None and cell.machine in new_tools else []
            if new:
                key = tuple(new)
                self.does.setdefault(key, set()).add(cell.task)
                self.hours[cell.task] = min(cell.hours, self.hours.get(cell.task, cell.hours))
                kept = self.masks.get((key, cell.task))
                self.masks[key, cell.task] = wide.met[place] if kept is None else kept | wide.met[place]

    def covers(self, things: Sequence[Thing]) -> set[int]:
        """Return the missed tasks that new things do, alone or together."""
        held = set(things)
        return {task for key, tasks in self.does.items() if set(key) <= held for task in tasks}

    def cost(self, things: Sequence[Thing]) -> float:
        """Return what stands for the cost of things while no prices are known: PTO power, and mass of machines."""
        total = 0.0
        for kind, number in things:
            if kind == "tractor":
                tractor = self.shed.tractors[number]
                total += tractor.pto_power_kw or tractor.engine_power_kw or 0.0
            else:
                record = self.tools[number].record
                total += ((record.mass_kg if record is not None else None) or 0.0) / KG_PER_KW
        return total

    def best(self) -> list[tuple[Thing, ...]]:
        """Return the singles and pairs to try: for each set of tasks the least, those with most hours first."""
        singles = sorted({thing for key in self.does for thing in key})
        pairs = [tuple(sorted(pair)) for pair in itertools.combinations(singles, 2) if _mixed(pair)]
        pairs = [pair for pair in pairs if pair in self.does or tuple(sorted(pair, reverse=True)) in self.does]
        least: dict[frozenset[int], tuple[Thing, ...]] = {}
        for things in [*((one,) for one in singles), *pairs]:
            tasks = frozenset(self.covers(things))
            kept = least.get(tasks)
            if tasks and (kept is None or (self.cost(things), things) < (self.cost(kept), kept)):
                least[tasks] = things
        order = sorted(
            least.items(), key=lambda one: (-sum(self.hours[task] for task in one[0]), len(one[1]), self.cost(one[1]))
        )
        return [things for _, things in order[:TRIED]]

    def chance(self, things: Sequence[Thing]) -> float:
        """Return the share of the draws in which new things do some missed task."""
        held = set(things)
        masks = [mask for (key, _), mask in self.masks.items() if set(key) <= held]
        return float(np.logical_or.reduce(masks).mean()) if masks else 0.0

    def needs(self, tasks: Mapping[str, set[int]], kinds: Sequence[str]) -> Callable[[frozenset[str]], float]:
        """Return the cost of the least things of these kinds that serve some members."""
        least: dict[frozenset[int], float] = {}
        ways = [(things, self.covers(things)) for things in self._of_kinds(kinds)]

        def cost(some: frozenset[str]) -> float:
            wanted = frozenset().union(*(tasks[member] for member in some)) if some else frozenset()
            if not wanted:
                return 0.0
            if wanted not in least:
                costs = [self.cost(things) for things, done in ways if wanted <= done]
                least[wanted] = min(costs, default=0.0)
            return least[wanted]

        return cost

    def _of_kinds(self, kinds: Sequence[str]) -> list[tuple[Thing, ...]]:
        singles = sorted({thing for key in self.does for thing in key})
        if len(kinds) == 1:
            return [(one,) for one in singles if one[0] == kinds[0]]
        return [pair for pair in itertools.combinations(singles, 2) if _mixed(pair)]


def _mixed(pair: Sequence[Thing]) -> bool:
    return {kind for kind, _ in pair} == {"tractor", "machine"}
