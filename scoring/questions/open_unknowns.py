"""What a job leaves open: every unknown its tasks rest on, and every range its sheet gives, as the register holds them.

`rank` lists it, `ask` asks it, `check` and the interview read it. What nobody can answer is listed beside it, with the
reason.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from evener.schema.records import Choice, Place, Quantity
from evener.schema.shared import machine_of
from evener.scoring.core.carrying import SHEET_NAME
from evener.scoring.core.draws import quantile
from evener.scoring.place.sizes import unit_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from evener.schema.records import Machine, Task
    from evener.scoring.core.draws import Array
    from evener.scoring.core.setting import Setting
    from evener.scoring.core.unknowns import Fact, Unknown
    from evener.scoring.decision.sizing import Sizing

PLACE = "the place"
PLAN = "plan"
TAIL = 0.025
COLUMN = {field: column for column, field in SHEET_NAME.items()}
UNSAID = {one.name: one.default for one in fields(Place)}


@dataclass(frozen=True)
class OpenUnknown:
    """One thing the customer could still settle, with what stands in for it.

    Attributes
    ----------
    task : name of the task, or None for the place and for a machine of the sheet
    name : what is open
    asks : the quantity of `question.csv` that settles it
    low, high : bounds of what is believed, in SI; None for words
    text : the words of the sheet, or what stands in for them
    words, chances : what it may be, where it is one of some words
    told : draws of what asking would tell, where that is worked out from what is open
    values : draws of the answer, as numbers or as places among `words`; None where no task rests on them
    land : the use of the land it is said of, where that is not the whole place
    machine : name of the machine of the sheet it is said of
    """

    task: str | None
    name: str
    asks: str
    text: str
    low: float | None = None
    high: float | None = None
    words: tuple[str, ...] = ()
    chances: tuple[float, ...] = ()
    told: Array | None = None
    values: Array | None = None
    land: str | None = None
    machine: str | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of `open` in the JSON contract."""
        plan = self.name == PLAN
        return {
            "task": self.task or self.machine or (f"the {self.land} ground" if self.land else PLACE),
            "size": self.name,
            "among": [self.text] if plan else list(self.words),
            "low": self.low,
            "high": self.high,
            "unit": "1" if self.words else unit_of(self.name),
            "text": self.text or " or ".join(self.words),
        }


def open_unknowns(sizing: Sizing) -> list[OpenUnknown]:
    """Return everything that is open: the place, the machines of the sheet that tasks share, then task by task."""
    setting, sized = sizing.setting, [task.task for task in sizing.tasks]
    used = [unknown for task in sized for unknown in setting.unknowns.of(task)]
    found = _listed(
        setting, None, [unknown for unknown in used if unknown.fact.owner == "place"], _given_of_place(setting)
    )
    for machine in setting.job.implements:
        if any(task.machine == machine.name and task.name in sized for task in setting.job.tasks):
            own = [each for each in used if each.fact.owner == "machine" and each.fact.of == machine.name]
            given = _given_of_machine(machine)
            found += [replace(one, machine=machine.name) for one in _listed(setting, None, own, given)]
    for task in setting.job.tasks:
        if task.name in sized:
            own = [unknown for unknown in setting.unknowns.of(task.name) if unknown.fact.owner == "task"]
            found += _listed(setting, task.name, own, _given_of_task(setting, task))
    return found


def stays_uncertain(sizing: Sizing) -> list[dict[str, Any]]:
    """Return what nobody can answer although tasks rest on it.

    Returns
    -------
    list of dict
        `what`, `why` nobody can answer it, `tasks` that rest on it, `source` and `status` of its figures.
    """
    users: dict[Fact, list[str]] = {}
    for task in sizing.tasks:
        for unknown in sizing.setting.unknowns.of(task.task):
            if unknown.fact.stays:
                users.setdefault(unknown.fact, []).append(task.task)
    return [
        {
            "what": _plainly(fact.name),
            "why": fact.stays,
            "tasks": tasks,
            "source": fact.source,
            "status": fact.status,
        }
        for fact, tasks in users.items()
    ]


def _listed(
    setting: Setting, task: str | None, used: Sequence[Unknown], given: Iterator[OpenUnknown]
) -> list[OpenUnknown]:
    """Return what is open of one owner: what was drawn, put together by what settles it, then what the sheet gives."""
    by_question: dict[tuple[str, str | None], list[Unknown]] = {}
    for unknown in {unknown.fact: unknown for unknown in used}.values():
        if unknown.fact.asks:
            by_question.setdefault((unknown.fact.asks, _land_of(setting, unknown.fact)), []).append(unknown)
    found = {
        (asks, land): replace(_drawn(setting, task, asks, unknowns), land=land)
        for (asks, land), unknowns in by_question.items()
        if asks != PLAN
    }
    for one in given:
        found.setdefault((one.asks, one.land), one)
    return list(found.values())


def _land_of(setting: Setting, fact: Fact) -> str | None:
    """Return the use of the land that a fact of the place is said of, where it is said of one use alone."""
    uses = {one.use for one in setting.job.place.land}
    parts = fact.key.split("/")
    return parts[1] if fact.owner == "place" and len(parts) == 3 and parts[1] in uses else None


def _drawn(setting: Setting, task: str | None, asks: str, unknowns: Sequence[Unknown]) -> OpenUnknown:
    head = next((one for one in unknowns if one.fact.name == asks), unknowns[0])
    fact = head.fact
    if head.words:
        place = np.asarray(setting.unknowns.choice(fact, head.words), float)
        return OpenUnknown(task, fact.name, asks, fact.text, words=head.words, chances=head.chances, values=place)
    told = head.values if head.derived else None
    if told is None or (len(unknowns) == 1 and unit_of(fact.name) != "1"):
        return OpenUnknown(task, fact.name, asks, fact.text, head.low, head.high, told=told, values=head.values)
    return OpenUnknown(
        task, asks, asks, fact.text, quantile(told, TAIL), quantile(told, 1 - TAIL), told=told, values=told
    )


def _given_of_place(setting: Setting) -> Iterator[OpenUnknown]:
    place = setting.job.place
    for field in fields(place):
        value = getattr(place, field.name)
        if value != UNSAID[field.name]:
            yield from _given(None, field.name, value)
    for use in place.land:
        yield from _given(None, f"{use.use}_area_ha", use.area_ha)
        for name in ("slope", "steepest", "soil"):
            for one in _given(None, name, getattr(use, name)):
                yield replace(one, land=use.use)


def _given_of_machine(machine: Machine) -> Iterator[OpenUnknown]:
    for field in fields(machine):
        yield from _given(None, COLUMN.get(field.name, field.name), getattr(machine, field.name))


def _given_of_task(setting: Setting, task: Task) -> Iterator[OpenUnknown]:
    for field in fields(task):
        if machine_of(setting.job, task, field.name) is not None:
            continue
        yield from _given(task.name, COLUMN.get(field.name, field.name), getattr(task, field.name))
    if task.planned:
        text = f"with a chance of {task.chance * 100:.0f} %"
        chances = (task.chance, 1 - task.chance)
        comes = setting.draws.comes(task.name, task.chance)
        place = np.where(comes, 0.0, 1.0)
        yield OpenUnknown(task.name, PLAN, PLAN, text, words=("yes", "no"), chances=chances, values=place)


def _given(task: str | None, name: str, value: Any) -> Iterator[OpenUnknown]:
    if isinstance(value, Quantity) and value.low is not None and value.low != value.high:
        yield OpenUnknown(task, name, name, value.text, value.low, value.high)
    if isinstance(value, Choice) and value.settled is None and value.among:
        shares = (1 / len(value.among),) * len(value.among)
        yield OpenUnknown(task, name, name, value.text, words=value.among, chances=shares)


def _plainly(name: str) -> str:
    """Return the key of a figure of the trade in words."""
    return name.removeprefix("allowance/").strip("/").replace("/", ", ").replace("|", ", ").replace("_", " ")
