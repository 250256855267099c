"""Widths that a sheet leaves open: the work and its days choose them, together with the tractor, by what both cost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evener.schema.records import Quantity
from evener.scoring.combinations.work_time import day
from evener.scoring.core.draws import Draws
from evener.scoring.core.otherwise import with_task
from evener.scoring.core.printing import show
from evener.scoring.core.setting import Setting
from evener.scoring.decision.amounts import amounts
from evener.scoring.decision.sizing import size_job
from evener.scoring.money.machines import goes_by
from evener.scoring.money.terms import NoMoney, terms
from evener.scoring.questions.whole_place import decide_place

if TYPE_CHECKING:
    from evener.enquiry.enquiry import Enquiry
    from evener.schema.records import JobSheet, Task, Tractor
    from evener.scoring.core.setting import Library
    from evener.scoring.money.terms import Terms

WIDTH = "working_width_m"
DRAWS = 512
MOST_TRIED = 6
LEAST_STEP = 1.1
# Groups of families whose work waits for the weather of one cut.
OF_A_CUT = ("hay cutting", "hay", "baling", "forage")


@dataclass(frozen=True)
class ChosenWidth:
    """A width that the sheet leaves open, and what was chosen for it.

    Attributes
    ----------
    task : the work
    width_m : the width with which tractor, machine and work cost least
    tried_m : widths it was chosen from, the narrowest first; those whose work needs more days than there are, or than
        a cut has as a rule, left out; the widest alone where none gets over a cut in those
    """

    task: str
    width_m: float
    tried_m: tuple[float, ...]


def with_widths(enquiry: Enquiry) -> tuple[Enquiry, tuple[ChosenWidth, ...]]:
    """Return an enquiry with every width that is open chosen, one after the other, and what was chosen.

    A width is open where the sheet says that it is not known and the machine is still to be chosen. The sheet it came
    from, and its questions, stay as they are.

    Parameters
    ----------
    enquiry : the job and the records
    """
    job, chosen = enquiry.job, []
    for task in enquiry.job.tasks:
        if is_open(task, enquiry.library):
            found = _chosen(job, task, enquiry.library, enquiry.concerned)
            if found is not None:
                chosen.append(found)
                job = _of_width(job, task, found.width_m)
    return replace(enquiry, job=job), tuple(chosen)


def is_open(task: Task, library: Library) -> bool:
    """Tell whether a task leaves the width of a machine open that is still to be chosen, and has a price by width."""
    unknown = task.width_m is not None and task.width_m.given == "unknown"
    return unknown and not task.have and task.implement_id is None and goes_by(task.family, library) == WIDTH


def _chosen(job: JobSheet, task: Task, library: Library, tractors: Sequence[Tractor]) -> ChosenWidth | None:
    try:
        taken = terms(job.money, library)
    except NoMoney:
        return None
    classes = [one for one in tractors if one.kind == "class"]
    costs: dict[float, float] = {}
    slow: list[float] = []
    for width in _widths(job, task, library):
        other = _of_width(job, task, width)
        sizing = size_job(other, library, Draws(DRAWS))
        named = next(one for one in other.tasks if one.name == task.name)
        much, _ = amounts(sizing.setting, named, taken)
        if not _in_time(sizing.setting, named, float(np.median(much.hours)), taken):
            slow.append(width)
            continue
        decision = decide_place(sizing, tractors)
        pick = decision.pick(decision.cost(classes)) if decision.work.tasks else None
        if pick is not None:
            costs[width] = pick.expected
    if not costs and slow and task.days is None:
        return ChosenWidth(task.name, max(slow), (max(slow),))
    if not costs:
        return None
    return ChosenWidth(task.name, min(costs, key=lambda width: costs[width]), tuple(sorted(costs)))


def _widths(job: JobSheet, task: Task, library: Library) -> Iterator[float]:
    """Yield widths that records of such machines have, evenly from the narrowest to the widest."""
    peers = Setting(job, library, Draws(1)).peers(task)
    known = sorted({one.working_width_m for one in peers if one.working_width_m})
    apart: list[float] = []
    for width in known:
        if not apart or width >= LEAST_STEP * apart[-1]:
            apart.append(width)
    places: list[int] = (
        np.unique(np.linspace(0, len(apart) - 1, MOST_TRIED).round()).astype(int).tolist() if apart else []
    )
    yield from (apart[place] for place in places)


def _in_time(setting: Setting, task: Task, hours: float, taken: Terms) -> bool:
    """Tell whether the days there are suffice, by their middle; a cut of hay or silage has the usual ones."""
    said = None if task.days is None else task.days.middle
    days = taken["cut_days"] if said is None and setting.family(task).group in OF_A_CUT else said
    return days is None or hours / max(task.times_per_year, 1.0) <= days * float(np.median(day(setting)))


def _of_width(job: JobSheet, task: Task, width: float) -> JobSheet:
    text = f"{show(width, 'm', job.policy.units, WIDTH)}, chosen by cost"
    return with_task(job, task.name, width_m=Quantity(width, width, "exact", text))
