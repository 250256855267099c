"""How a machine of a size is usually carried: as its family's records of about that size are."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from evener.schema.records import Family, Implement, Quantity, Task

# The key of a sheet, where it is another than the column of a record.
SHEET_NAME = {
    "working_width_m": "width_m",
    "max_stem_m": "stem_m",
    "payload_kg": "load_kg",
    "typical_speed_km_h": "speed_km_h",
    "mass_kg": "machine_mass_kg",
}
ELSEWHERE = frozenset({"front_mounted", "loader", None})
CLEARLY_NEARER = 0.1
# Of the rating of a smaller machine carried the usual way: nobody buys that one for the work (practice, no source).
FAR_LESS = 0.8


def usual_attachment(
    family: Family, records: Sequence[Implement], priors: Sequence[Mapping[str, Any]], task: Task
) -> str | None:
    """Return how a family's machines of a task's size are carried; the family's usual way where no size tells.

    Parameters
    ----------
    family, records : the task's, and its family's records
    priors : what sizes usually are where nobody says
    task : with its sizes where they are said
    """
    wanted = {}
    for name in (family.first_variable, family.second_variable):
        size = _said(priors, task, name) if name else None
        if name is not None and size:
            wanted[name] = math.log(size)
    if family.attachment in ELSEWHERE or family.first_variable not in wanted:
        return family.attachment
    bought = as_usual(family, records)
    usual = min((_apart(one, wanted) for one in bought), default=math.inf)
    other, nearest = math.inf, family.attachment
    for one in records:
        apart = _apart(one, wanted)
        if one.attachment not in {*ELSEWHERE, family.attachment} and apart < other:
            other, nearest = apart, one.attachment
    largest = max((_size(one, family.first_variable) for one in bought), default=math.inf)
    ends = len(bought) < sum(one.attachment == family.attachment for one in records)
    past = ends and wanted[family.first_variable or ""] > math.log(largest) + CLEARLY_NEARER
    return nearest if past or usual > other + CLEARLY_NEARER else family.attachment


def as_usual(family: Family, records: Sequence[Implement]) -> list[Implement]:
    """Return the records carried the family's usual way, but for those far outdone by one carried another way.

    A carried spreader that asks more than a trailed one of half again its load is not what is bought for that load.

    Parameters
    ----------
    family, records : a family, and its records
    """
    names = [name for name in (family.first_variable, family.second_variable) if name]
    others = [one for one in records if one.attachment not in {*ELSEWHERE, family.attachment}]

    def outdone(one: Implement) -> bool:
        return any(
            all(_size(other, name) >= _size(one, name) > 0 for name in names)
            and 0 < (other.rated_pto_power_kw or 0.0) <= FAR_LESS * (one.rated_pto_power_kw or 0.0)
            for other in others
        )

    return [one for one in records if one.attachment == family.attachment and not outdone(one)]


def _size(one: Implement, name: str | None) -> float:
    return float(getattr(one, name, None) or 0.0) if name else 0.0


def _apart(one: Implement, wanted: dict[str, float]) -> float:
    sizes = [float(getattr(one, name, None) or 0.0) for name in wanted]
    if not all(sizes):
        return math.inf
    return math.hypot(*(math.log(has) - size for has, size in zip(sizes, wanted.values(), strict=True)))


def _said(priors: Sequence[Mapping[str, Any]], task: Task, name: str) -> float | None:
    given: Quantity | None = getattr(task, SHEET_NAME.get(name, name), None)
    if given is not None and given.middle is not None:
        return given.middle
    own = [row for row in priors if (row["quantity"], row["family"], row["animals"]) == (name, task.family, None)]
    of_land = [row for row in own if row["land"] == task.land] or [row for row in own if row["land"] is None]
    return float(of_land[0]["usual"] or math.nan) if of_land else None
