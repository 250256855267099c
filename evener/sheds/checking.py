"""What is missing, double or impossible in a shed, before anything is computed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from evener.results.answer import KEPT, Answer
from evener.results.sheet_check import SheetFinding

if TYPE_CHECKING:
    from evener.enquiry.sheds import ReadShed
    from evener.schema.shed import Shed
    from evener.scoring.core.printing import Units


@dataclass(frozen=True)
class MemberLine:
    """One member: what he has and asks."""

    member: str
    tractors: int
    machines: int
    drivers: int
    tasks: int
    windows: int
    hours_owed: float


@dataclass(frozen=True)
class LendingLine:
    """One limit on lending that is obeyed.

    Attributes
    ----------
    thing, owner : id of the tractor or machine, and whose
    rule : not lent, or with driver only
    first, last : days it holds on, by the calendar; None for the whole season
    words : the remark that says so; blank where the shed file does
    """

    thing: str
    owner: str | None
    rule: str
    first: str | None
    last: str | None
    words: str


@dataclass(frozen=True)
class ShedCheck(Answer):
    """A shed, checked.

    Attributes
    ----------
    shed : its name
    findings : what refuses it or is remarkable, in the order of its lines
    refused : whether nothing can be planned with it
    members : what each has and asks; empty where it is refused
    lending : limits on lending that are obeyed
    """

    shed: str
    findings: tuple[SheetFinding, ...]
    refused: bool
    members: tuple[MemberLine, ...]
    lending: tuple[LendingLine, ...] = ()
    units: Units = field(default="us", repr=False, compare=False, metadata=KEPT)

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per finding.

        Parameters
        ----------
        units : "si" or "us"
        """
        rows: list[dict[str, Any]] = self.to_dict(units)["findings"]
        return rows


def check(read: ReadShed) -> ShedCheck:
    """Return what was noticed in a shed, and what its members have."""
    findings = tuple(SheetFinding(**one.as_dict()) for one in read.findings)
    if read.shed is None:
        return ShedCheck(read.name, findings, refused=True, members=())
    shed = read.shed
    members = tuple(
        MemberLine(
            member.name,
            sum(1 for one in shed.tractors if one.owner == member.name),
            sum(1 for one in shed.machines if one.owner == member.name),
            member.drivers,
            len(member.job.tasks) if member.job is not None else 0,
            len(member.windows),
            member.hours_owed_h,
        )
        for member in shed.members
    )
    return ShedCheck(shed.name, findings, refused=False, members=members, lending=_lending(shed), units=_units(shed))


def _lending(shed: Shed) -> tuple[LendingLine, ...]:
    owners = {one.tractor_id: one.owner for one in shed.tractors}
    owners |= {one.implement_id: one.owner for one in shed.machines}
    told = [
        LendingLine(
            one.thing,
            owners.get(one.thing),
            "not lent",
            None if one.first is None else one.first.isoformat(),
            None if one.last is None else one.last.isoformat(),
            one.words,
        )
        for one in shed.kept
    ]
    told += [
        LendingLine(one.thing, owners.get(one.thing), "with driver only", None, None, one.words)
        for one in shed.with_driver
    ]
    return tuple(told)


def _units(shed: Shed) -> Units:
    return shed.units  # type: ignore[return-value]
