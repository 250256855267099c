"""What is wrong with a job sheet, whether the place adds up, and what owned machines do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer
from evener.results.place import Claim, Gap, claims, gaps
from evener.scoring.core.printing import show
from evener.scoring.decision.sizing import size_job
from evener.scoring.place.coverage import land
from evener.scoring.place.unlikely import SPACING, Unlikely, unlikely
from evener.scoring.questions.reconcile import reconcile

if TYPE_CHECKING:
    from evener.enquiry.holdings import Holdings
    from evener.ingest.findings import Finding
    from evener.schema.records import JobSheet
    from evener.scoring.core.printing import Units


@dataclass(frozen=True)
class SheetFinding:
    """One thing to put right.

    Attributes
    ----------
    id : what kind of thing; see docs/findings.md
    row, column, raw : line, key and text of the sheet
    message, remedy : what is wrong, and what to write instead
    """

    id: str
    row: int | None
    column: str | None
    raw: str | None
    message: str
    remedy: str


@dataclass(frozen=True)
class LandUse:
    """One use of the land: its area, how much of it tasks cover, and the rest."""

    use: str
    unit: str
    total: float
    covered: float
    unexplained: float


@dataclass(frozen=True)
class Land:
    """The land of a place, and how much of it tasks cover."""

    unit: str
    total: float
    covered: float
    unexplained: float
    uses: tuple[LandUse, ...]


@dataclass(frozen=True)
class PlanRead:
    """Work that is read as a plan: with which chance it comes, and in which year; None where that is not said."""

    task: str
    chance: float
    year: int | None


@dataclass(frozen=True)
class SheetCheck(Answer):
    """A job sheet, checked.

    Attributes
    ----------
    findings : everything to put right, in the order of its lines; then tasks that cannot be sized
    land : what tasks cover, where the sheet can be read
    plans : work that is read as a plan, and not as work of today
    reconcile : what the place probably needs and no task names
    owned : what owned machines are said to take, and whether they do
    units : the sheet's own units
    """

    findings: tuple[SheetFinding, ...]
    land: Land | None
    plans: tuple[PlanRead, ...]
    reconcile: tuple[Gap, ...]
    owned: tuple[Claim, ...]
    units: Units = field(default="us", repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per finding.

        Parameters
        ----------
        units : "si" or "us"
        """
        rows: list[dict[str, Any]] = self.to_dict(units)["findings"]
        return rows


def _odd(one: Unlikely, units: Units) -> SheetFinding:
    """Return a size that no machine of the family has as a finding, with the likely slip."""
    of_tools = one.name == SPACING
    low, high = (show(value, one.unit, units, one.name) for value in (one.low, one.high))
    what = "such tools stand" if of_tools else f"{one.task.family.replace('_', ' ')}s of the library have"
    remedy = f"check it: {one.slip}?" if one.slip else "check the number and its unit, or name an implement record"
    return SheetFinding(
        "size-unlikely",
        one.task.line,
        "tools" if of_tools else one.name.rsplit("_", 1)[0].removeprefix("working_"),
        one.said,
        f"{one.task.name}: {one.said} is beyond what there is: {what} {low} to {high}{' apart' if of_tools else ''}",
        remedy,
    )


def check(job: JobSheet | None, findings: Sequence[Finding], holdings: Holdings) -> SheetCheck:
    """Check a job sheet as it was read.

    Parameters
    ----------
    job : the sheet, or None where it could not be read
    findings : what was found while reading
    holdings : the records and tables it is held against
    """
    told = tuple(SheetFinding(**finding.as_dict()) for finding in findings)
    if job is None:
        return SheetCheck(told, None, (), (), ())
    covered = land(job)
    area = Land(**{**covered, "uses": tuple(LandUse(**use) for use in covered["uses"])})
    plans = tuple(PlanRead(task.name, task.chance, task.year) for task in job.tasks if task.planned)
    missing = gaps(reconcile(job, holdings.library))
    if any(finding.refuses for finding in findings):
        return SheetCheck(told, area, plans, missing, (), job.policy.units)
    sizing = size_job(job, holdings.library)
    left = tuple(
        SheetFinding("task-not-sized", None, one.task, None, f"{one.task}: {one.why}.", f"{one.remedy}.")
        for one in sizing.not_sized
    )
    odd = tuple(_odd(one, job.policy.units) for task in job.tasks for one in unlikely(holdings.library, task))
    return SheetCheck((*told, *odd, *left), area, plans, missing, claims(sizing, holdings.tractors), job.policy.units)
