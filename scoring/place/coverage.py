"""Which of the place's land the tasks cover, by use."""

from __future__ import annotations

from typing import Any

from evener.schema.records import JobSheet
from evener.scoring.core.printing import Units, in_units
from evener.scoring.mechanics.work.land import area_left


def land(job: JobSheet, units: Units = "si") -> dict[str, Any]:
    """Return total, covered and unexplained area, and the uses that no task names.

    A task covers the land it names; where it says an area of its own, that much of it. Areas given as a range count by
    their middle.
    """
    covered: dict[str, float] = {}
    areas: dict[str, list[float]] = {}
    for use in job.place.land:
        areas.setdefault(use.use, []).append(use.area_ha.middle or 0.0)
    total = {use: sum(each) for use, each in areas.items()}
    for task in job.tasks:
        if task.land in total:
            own = task.area_ha.middle if task.area_ha is not None else None
            area = total[task.land] if own is None else min(own, total[task.land])
            covered[task.land] = max(covered.get(task.land, 0.0), area)
    uses = [
        {
            "use": use,
            "unit": "ha",
            "total": area,
            "covered": covered.get(use, 0.0),
            "unexplained": area_left(area, A_covered=covered.get(use, 0.0)),
        }
        for use, area in total.items()
    ]
    answer = {
        "unit": "ha",
        "total": sum(total.values()),
        "covered": sum(covered.values()),
        "unexplained": area_left(sum(total.values()), A_covered=sum(covered.values())),
        "uses": uses,
    }
    return in_units(answer, units)
