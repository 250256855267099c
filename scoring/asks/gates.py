"""Gates: hitch category, PTO speed, remotes and drive; each is met or not, and never by a margin."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from evener.scoring.core.demand import Gate
from evener.scoring.place.loads import sized_by
from evener.scoring.ratings.model import size_of

if TYPE_CHECKING:
    from evener.schema.records import Implement, Task
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


def nearest(setting: Setting, task: Task) -> Implement | None:
    """Return the library's record nearest in size to a task that names none, among those carried the same way."""
    family = setting.family(task)
    wanted = {
        name: math.log((one.low + one.high) / 2)
        for name in (family.first_variable, family.second_variable)
        if name is not None and (one := sized_by(setting, task, name)) is not None
    }
    sized = [
        (
            sum((math.log(has) - wanted[name]) ** 2 for name, has in zip(wanted, sizes, strict=True)),
            peer.implement_id,
            peer,
        )
        for peer in setting.peers(task)
        if wanted and all(sizes := [size_of(peer, name) or 0.0 for name in wanted])
    ]
    return min(sized)[2] if sized else None
