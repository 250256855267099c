"""Gates: hitch category, PTO speed, remotes and drive; each is met or not, and never by a margin."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from evener.scoring.core.demand import Gate
from evener.scoring.place.machines import nearest

if TYPE_CHECKING:
    from evener.schema.records import Task, Tractor
    from evener.scoring.core.setting import Setting

FOUR_WHEELS = ("4wd", "track", "articulated")


def gates_of(setting: Setting, task: Task) -> tuple[Gate, ...]:
    """Return the gates of a task; a size without a record asks what the nearest record of its family asks."""
    record = setting.record(task) or nearest(setting, task)
    attachment = setting.attachment(task)
    found: list[Gate] = []
    if record is not None:
        if attachment in {"mounted", "semi_mounted"} and record.hitch_category_min:
            low, high = record.hitch_category_min, record.hitch_category_max or record.hitch_category_min
            words = f"category {low}" if low == high else f"category {low} to {high}"
            found.append(Gate(task.name, "hitch_category", words, (low, high)))
        if record.pto_speeds_rpm and setting.family(task).power in {"pto", "carried"}:
            speeds = tuple(str(speed) for speed in record.pto_speeds_rpm)
            found.append(Gate(task.name, "pto_speed", f"{' or '.join(speeds)} rpm", speeds))
        if record.remotes_needed and attachment != "loader":
            plural = "pair" if record.remotes_needed == 1 else "pairs"
            found.append(Gate(task.name, "remotes", f"{record.remotes_needed} {plural}", least=record.remotes_needed))
    if task.drive is not None:
        accepts = FOUR_WHEELS if task.drive == "4wd" else (task.drive,)
        found.append(Gate(task.name, "drive", task.drive, accepts))
    return tuple(found)


def passes(gate: Gate, tractor: Tractor) -> bool:
    """Return whether a tractor meets a gate; what its record does not state is not shown to be met."""
    if gate.axis == "hitch_category":
        return _hitch(gate.accepts, tractor.hitch_category)
    if gate.axis == "pto_speed":
        return bool({int(speed) for speed in gate.accepts} & set(tractor.pto_speeds_rpm))
    if gate.axis == "remotes":
        return tractor.rear_remotes is not None and gate.least is not None and tractor.rear_remotes >= gate.least
    return tractor.drive in gate.accepts


def offered(gate: Gate, tractor: Tractor) -> str:
    """Return what a tractor offers at a gate, in words to print."""
    if gate.axis == "hitch_category":
        return f"category {tractor.hitch_category}" if tractor.hitch_category else "not stated"
    if gate.axis == "pto_speed":
        return f"{' or '.join(map(str, tractor.pto_speeds_rpm))} rpm" if tractor.pto_speeds_rpm else "not stated"
    if gate.axis == "remotes":
        return "not stated" if tractor.rear_remotes is None else str(tractor.rear_remotes)
    return tractor.drive or "not stated"


def _hitch(accepts: tuple[str, ...], category: str | None) -> bool:
    """Return whether a tractor's hitch takes an implement's category.

    The tractor's own category must not be below the implement's least, and at most one above its greatest: that step is
    bridged with bushings or turnable balls (common practice, no source). Narrow (N) categories count as their number.
    """
    if category is None:
        return False
    number = _number(category)
    return _number(accepts[0]) <= number <= _number(accepts[-1]) + 1


def _number(category: str) -> int:
    digits = re.match(r"\d", category)
    return int(digits.group()) if digits else -1
