"""What is open about the work itself: who does it, in which year it comes, and with which machine.

None of it is drawn: the sheet is read the usual way until somebody says otherwise. So each answer is a decision of its
own, and its share is a custom of the trade.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from importlib import resources
from typing import TYPE_CHECKING

from evener.schema.records import JobSheet
from evener.scoring.core.otherwise import with_place, with_task
from evener.scoring.decision.variants import if_asking, if_done_here, if_hired, if_in_year
from evener.scoring.questions.reconcile import Gap, gaps, work_of

if TYPE_CHECKING:
    from evener.schema.records import Task
    from evener.scoring.core.setting import Row
    from evener.scoring.decision.cheapest import Decision
    from evener.scoring.decision.sizing import Sizing

HIRE, YEAR, HAVE, BUILD, GAP = "hire", "year", "have", "build", "gap"
OF_THE_WORK = frozenset({HIRE, YEAR, HAVE, BUILD, GAP})
YES, NO = "yes", "no"


@dataclass(frozen=True)
class WorkPart:
    """One answer.

    Attributes
    ----------
    text : in words
    share : chance that it is this
    job : the sheet with this answer in it
    decided : the decision with it; None where the present one holds
    """

    text: str
    share: float
    job: JobSheet
    decided: Callable[[Decision], Decision | None] | None = None

    @property
    def ends(self) -> tuple[str, str]:
        """Where it is a number, such as a year, its two ends in words."""
        return self.text, self.text


@dataclass(frozen=True)
class OpenWork:
    """One thing that is open about the work.

    Attributes
    ----------
    task : name of the task, or of the work nobody named
    quantity : hire, year, have, build or gap
    now : what is taken until it is said
    parts : what the answer may be
    gap : the rule that asks, where nobody named the work
    """

    task: str
    quantity: str
    now: str
    parts: tuple[WorkPart, ...]
    gap: Gap | None = None

    @property
    def ordered(self) -> bool:
        """Whether neighbouring parts can be told as one."""
        return self.quantity == YEAR


def open_work(sizing: Sizing) -> list[OpenWork]:
    """Return what is open about the work of a job, task by task, then what nobody named.

    Parameters
    ----------
    sizing : the job as it stands
    """
    job = sizing.setting.job
    sized = {one.task for one in sizing.tasks}
    policy = {row["what"]: row for row in sizing.setting.library.tables["policy"]}
    found = [one for task in job.tasks if task.name in sized for one in _of_task(sizing, task, policy)]
    return [*found, *(_of_gap(job, gap, policy) for gap in gaps(job, sizing.setting.library) if gap.rule["family"])]


def listed_here(job: JobSheet, gap: Gap) -> JobSheet:
    """Return the sheet with work that nobody named listed for this tractor, under a name of its own."""
    work = work_of(gap)
    if work is None:
        return job
    names = {one.name.casefold() for one in job.tasks}
    plain = (work.name if number == 1 else f"{work.name} {number}" for number in range(1, len(names) + 2))
    named = replace(work, name=next(name for name in plain if name.casefold() not in names), hire=False)
    return replace(job, tasks=(*job.tasks, named))


def done_by_others(job: JobSheet, gap: Gap) -> JobSheet:
    """Return the sheet with work that nobody named said to be somebody else's."""
    return with_place(job, others_do=(*job.place.others_do, gap.rule["rule"]))


def _of_task(sizing: Sizing, task: Task, policy: dict[str, Row]) -> Iterator[OpenWork]:
    job, name = sizing.setting.job, task.name
    if task.planned and task.year is None:
        yield _year(job, task, policy)
    if not task.planned and task.hire is None:
        hired, share = with_task(job, name, hire=True), float(policy["may_be_hired"]["typical"])
        yes = WorkPart(YES, share, hired, partial(if_hired, task=name))
        yield _yes_or_no(name, HIRE, "not said, taken as no", yes, with_task(job, name, hire=False))
    if task.implement_id is not None or task.machine is not None:
        return
    if task.have is None and task.rated_pto_power_kw is None:
        there, share = with_task(job, name, have=True), float(policy["machine_there"]["typical"])
        yes = WorkPart(YES, share, there, partial(if_asking, job=there))
        yield _yes_or_no(name, HAVE, "not said, taken as still to be chosen", yes, with_task(job, name, have=False))
    if task.build is None and task.attachment is None and task.family in _builds():
        yield _build(job, task, _builds()[task.family], sizing.setting.attachment(task))


def _yes_or_no(task: str, quantity: str, now: str, yes: WorkPart, no: JobSheet) -> OpenWork:
    return OpenWork(task, quantity, now, (yes, WorkPart(NO, 1.0 - yes.share, no)))


def _year(job: JobSheet, task: Task, policy: dict[str, Row]) -> OpenWork:
    zero = int(job.money.terms.get("year_zero") or policy["year_zero"]["typical"])
    row = policy["plan_year"]
    years = [zero + number - 1 for number in range(int(row["low"]), int(row["high"]) + 1)]
    parts = []
    for year in years:
        dated = with_task(job, task.name, year=year)
        parts.append(WorkPart(str(year), 1 / len(years), dated, partial(if_in_year, task=task.name, year=year)))
    return OpenWork(task.name, YEAR, f"not said, taken as {zero + int(row['typical']) - 1}", tuple(parts))


def _build(job: JobSheet, task: Task, rows: Sequence[dict[str, str]], carried: str | None) -> OpenWork:
    """Return the builds a machine may be of; the one that is taken now is the likeliest."""
    shares = sorted((float(row["share"]) for row in rows), reverse=True)
    ordered = sorted(rows, key=lambda row: row["build"] != carried)
    parts: list[WorkPart] = []
    for row, share in zip(ordered, shares, strict=True):
        made = with_task(job, task.name, **_made(row["build"]))
        parts.append(WorkPart(row["build"], share, made, partial(if_asking, job=made) if parts else None))
    return OpenWork(task.name, BUILD, f"not said, taken as {parts[0].text}", tuple(parts))


def _made(build: str) -> dict[str, str]:
    return {"attachment": build} if build in {"mounted", "trailed"} else {"build": build}


def _of_gap(job: JobSheet, gap: Gap, policy: dict[str, Row]) -> OpenWork:
    name = gap.rule["rule"].replace("_", " ")
    share = float(gap.rule["chance"]) * float(policy["gap_weight"]["typical"])
    here = WorkPart(YES, share, listed_here(job, gap), partial(if_done_here, task=name))
    never = WorkPart(NO, 1.0 - share, done_by_others(job, gap), partial(_not_here, task=name))
    return OpenWork(name, GAP, f"not said, taken as {share * 100:.0f} % likely", (here, never), gap)


def _not_here(decision: Decision, task: str) -> Decision:
    return decision.if_so({task: False})


@lru_cache(maxsize=1)
def _builds() -> dict[str, list[dict[str, str]]]:
    text = resources.files("evener.scoring.questions").joinpath("builds.csv").read_text(encoding="utf-8")
    found: dict[str, list[dict[str, str]]] = {}
    for row in csv.DictReader(text.splitlines()):
        found.setdefault(row["family"], []).append(row)
    return found
