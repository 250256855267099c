"""Gates: hitch category, PTO speed, remotes and drive; each is met or not, and never by a margin."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evener.scoring.core.demand import Gate
from evener.scoring.place.machines import nearest

if TYPE_CHECKING:
    from evener.schema.records import Implement, Task
    from evener.scoring.core.setting import Setting

FOUR_WHEELS = ("4wd", "track", "articulated")


def gates_of(setting: Setting, task: Task) -> tuple[Gate, ...]:
    """Return the gates of a task; a size without a record asks what the nearest record of its family asks."""
    record = setting.record(task) or nearest(setting, task)
    attachment = setting.attachment(task)
    found: list[Gate] = []
    hitch = _hitch(task, record)
    if attachment in {"mounted", "semi_mounted"} and hitch is not None:
        words = f"category {hitch[0]}" if hitch[0] == hitch[1] else f"category {hitch[0]} to {hitch[1]}"
        found.append(Gate(task.name, "hitch_category", words, hitch))
    rpm = task.pto_speeds_rpm or (record.pto_speeds_rpm if record is not None else ())
    if rpm and setting.family(task).power in {"pto", "carried"}:
        speeds = tuple(str(speed) for speed in rpm)
        found.append(Gate(task.name, "pto_speed", f"{' or '.join(speeds)} rpm", speeds))
    if record is not None and record.remotes_needed and attachment != "loader":
        plural = "pair" if record.remotes_needed == 1 else "pairs"
        found.append(Gate(task.name, "remotes", f"{record.remotes_needed} {plural}", least=record.remotes_needed))
    if task.drive is not None:
        accepts = FOUR_WHEELS if task.drive == "4wd" else (task.drive,)
        found.append(Gate(task.name, "drive", task.drive, accepts))
    return tuple(found)


def _hitch(task: Task, record: Implement | None) -> tuple[str, str] | None:
    """Return the least and greatest hitch category of a machine: its plate's, else its record's."""
    if task.hitch_category is not None:
        return task.hitch_category, task.hitch_category
    if record is None or not record.hitch_category_min:
        return None
    return record.hitch_category_min, record.hitch_category_max or record.hitch_category_min
