"""From a shed file, its sheets and the records of its members to a `Shed`, or to everything that is wrong with it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from evener.ingest.findings import Finding
from evener.ingest.jobsheet import findings as sheet
from evener.ingest.jobsheet.lines import Path
from evener.ingest.jobsheet.values import Reading, suggestion
from evener.ingest.jobsheet.words import fold, near
from evener.ingest.shed import findings as found
from evener.ingest.shed.lending import limited
from evener.ingest.shed.reading import Part, ShedFile
from evener.schema.records import Implement, JobSheet, Tractor
from evener.schema.shed import Kept, Member, Shed, Veto, Window

KM_PER_MILE = 1.609344  # exact, by definition of the international mile
EVERY_DAY = "all"
USUAL = "usual"
LONGEST_SEASON = 366


def shed_of(
    read: ShedFile,
    jobs: Mapping[str, JobSheet],
    tractors: Iterable[Tractor],
    machines: Iterable[Implement],
    regions: Collection[str],
) -> tuple[Shed | None, tuple[Finding, ...]]:
    """Return the shed, or None and everything that refuses it.

    Parameters
    ----------
    read : the shed file
    jobs : job sheets by the name the file gives them; one that was refused is missing
    tractors, machines : records of every owner; those of members are taken
    regions : regions of the table of workable days
    """
    one = _Assembling(read, jobs, regions)
    shed = one.shed(tuple(tractors), tuple(machines))
    return shed, read.findings


class _Assembling:
    """The parts of one shed file, held against each other."""

    def __init__(self, read: ShedFile, jobs: Mapping[str, JobSheet], regions: Collection[str]) -> None:
        self.read, self.jobs, self.regions = read, jobs, regions
        self.reading: Reading = read.reading
        self.names = [part.get("name") for part in read.members if part.get("name")]

    def shed(self, tractors: Sequence[Tractor], machines: Sequence[Implement]) -> Shed | None:
        head = self.read.shed
        first, last = head.get("first"), head.get("last")
        self._season(first, last)
        members = [self._member(part, first, last) for part in self.read.members if part.get("name")]
        owners = set(self.names)
        own_tractors = sorted(
            (one for one in tractors if one.owner in owners and one.kind != "class"),
            key=lambda one: (self.names.index(one.owner), one.tractor_id),
        )
        own_machines = sorted(
            (one for one in machines if one.owner in owners),
            key=lambda one: (self.names.index(one.owner), one.implement_id),
        )
        things = [one.tractor_id for one in own_tractors] + [one.implement_id for one in own_machines]
        roads = self._roads()
        kept = tuple(self._kept(part, things) for part in self.read.kept if part.get("thing"))
        vetoes = tuple(self._veto(part, things) for part in self.read.vetoes if part.get("member"))
        turn = self._turn()
        self._remarks(members, own_tractors, own_machines)
        self._roads_missing(members, roads)
        workable = head.get("workable", USUAL)
        if workable != EVERY_DAY and workable not in self.regions:
            hint = suggestion(near(workable, self.regions), (*self.regions, EVERY_DAY))
            self.reading.report(sheet.SheetWord, ("shed", "workable_days"), workable, hint=hint)
        if any(one.refuses for one in self.reading.findings):
            return None
        said = {
            name: head.get(name)
            for name in (
                "hours_a_day_h",
                "road_factor",
                "road_speed_km_h",
                "late_days",
                "confidence",
                "sundays",
                "units",
            )
            if head.get(name) is not None
        }
        notes = [(one.tractor_id, one.note) for one in own_tractors]
        notes += [(one.implement_id, one.note) for one in own_machines]
        stay, with_driver = limited(notes, first, last)
        return Shed(
            name=head.get("name"),
            members=tuple(members),
            tractors=tuple(own_tractors),
            machines=tuple(own_machines),
            road_km=roads,
            kept=(*kept, *stay),
            with_driver=with_driver,
            vetoes=vetoes,
            first=first,
            last=last,
            workable=None if workable == EVERY_DAY else workable,
            turn=turn,
            **said,
        )

    def _report(self, kind: type[Finding], path: Path, raw: object = None, **values: Any) -> None:
        self.reading.report(kind, path, raw, **values)

    def _season(self, first: dt.date | None, last: dt.date | None) -> None:
        if first is None or last is None:
            return
        if last < first:
            self._report(found.ShedDates, ("shed", "to"), last, what="the season", reason="it ends before it begins")
        elif (last - first).days >= LONGEST_SEASON:
            self._report(found.ShedDates, ("shed", "to"), last, what="the season", reason="it is longer than a year")

    def _member(self, part: Part, first: dt.date | None, last: dt.date | None) -> Member:
        name = part.get("name")
        if self.names.count(name) > 1 and self.names.index(name) != self.read.members.index(part):
            self._report(found.ShedTwice, (*part.path, "name"), name, what=f"the member {name}")
        path = part.get("sheet")
        job = self.jobs.get(path) if path else None
        sharing = next((one for one in self.read.members if path and one.get("sheet") == path), part)
        if sharing is not part:
            self._report(
                found.ShedSheetTwice, (*part.path, "sheet"), path, name=path, one=sharing.get("name"), other=name
            )
        return Member(
            name=name,
            job=job,
            at_km=part.get("at_km"),
            drivers=part.get("drivers", 1),
            hours_owed_h=part.get("hours_owed_h", 0.0),
            windows=self._windows(name, job, path, first, last),
            line=part.line,
        )

    def _windows(
        self, member: str, job: JobSheet | None, path: str | None, first: dt.date | None, last: dt.date | None
    ) -> tuple[Window, ...]:
        windows: dict[str, list[Window]] = {}
        for part in self.read.windows:
            if part.get("member") != member or not part.get("task"):
                continue
            task = self._task(part, member, job, path)
            if task is None or part.get("first") is None or part.get("last") is None:
                continue
            begins, ends = part.get("first"), part.get("last")
            if any(one.first <= ends and begins <= one.last for one in windows.get(task, ())):
                self._report(found.ShedTwice, part.path, what=f"a day of the windows of {member}: {task}")
            self._dates(part, f"the window of {member}: {task}", first, last)
            windows.setdefault(task, []).append(
                Window(
                    task,
                    begins,
                    ends,
                    part.get("hours_a_day_h"),
                    part.get("workable_days"),
                    self._task(part, member, job, path, key="after"),
                    part.line,
                )
            )
        for asked in () if job is None else job.tasks:
            if asked.name not in windows and not asked.planned:
                where: Path = self.read.members[self.names.index(member)].path
                self._report(found.ShedNoWindow, where, member=member, task=asked.name)
        names = [task.name for task in job.tasks] if job is not None else []
        return tuple(window for name in names for window in sorted(windows.get(name, ()), key=lambda one: one.first))

    def _task(
        self, part: Part, member: str, job: JobSheet | None, path: str | None, *, key: str = "task"
    ) -> str | None:
        said = part.get(key)
        names = {fold(task.name): task.name for task in job.tasks} if job is not None else {}
        if said is None or fold(said) in names:
            return None if said is None else names[fold(said)]
        if job is not None or path is None:
            hint = suggestion(near(said, names.values()), names.values())
            self._report(found.ShedUnknownTask, (*part.path, key), said, member=member, hint=hint)
        return None

    def _dates(self, part: Part, what: str, first: dt.date | None, last: dt.date | None) -> None:
        begins, ends = part.get("first"), part.get("last")
        if begins is not None and ends is not None and ends < begins:
            self._report(found.ShedDates, part.path, what=what, reason="it ends before it begins")
        elif first is not None and last is not None and ((begins or first) < first or (ends or last) > last):
            self._report(found.ShedDates, part.path, what=what, reason=f"the season is {first} to {last}")

    def _roads(self) -> tuple[tuple[str, str, float], ...]:
        roads: dict[frozenset[str], tuple[str, str, float]] = {}
        for part in self.read.roads:
            between = part.get("between", ())
            if len(between) != 2 or between[0] == between[1]:
                wanted = 'two members: ["A", "B"]'
                self._report(sheet.SheetShape, (*part.path, "between"), found=f"{len(between)} names", wanted=wanted)
                continue
            for name in between:
                self._known((*part.path, "between"), name)
            km = part.get("km")
            if km is None and part.get("miles") is not None:
                km = part.get("miles") * KM_PER_MILE
            elif part.get("miles") is not None:
                self._report(found.ShedTwice, part.path, what="the length of this road")
            if km is None:
                self._report(sheet.SheetMissingKey, (*part.path, "km"), hint="add km or miles")
                continue
            if frozenset(between) in roads:
                self._report(found.ShedTwice, part.path, what=f"the road between {between[0]} and {between[1]}")
            roads[frozenset(between)] = (between[0], between[1], km)
        return tuple(roads.values())

    def _known(self, path: Path, name: str) -> bool:
        if name in self.names:
            return True
        self._report(found.ShedUnknownMember, path, name, hint=suggestion(near(name, self.names), self.names))
        return False

    def _kept(self, part: Part, things: Sequence[str]) -> Kept:
        thing = part.get("thing")
        if thing not in things:
            hint = suggestion(near(thing, things), things)
            self._report(found.ShedUnknownThing, (*part.path, "thing"), thing, hint=hint)
        self._dates(part, f"what is said of {thing}", self.read.shed.get("first"), self.read.shed.get("last"))
        return Kept(thing, part.get("first"), part.get("last"), part.line)

    def _veto(self, part: Part, things: Sequence[str]) -> Veto:
        member, refuses, task = part.get("member"), part.get("refuses", ""), part.get("task")
        self._known((*part.path, "member"), member)
        if refuses and refuses not in things and refuses not in self.names:
            every = (*things, *self.names)
            self._report(
                found.ShedUnknownThing, (*part.path, "refuses"), refuses, hint=suggestion(near(refuses, every), every)
            )
        owner = next((one for one in self.read.members if one.get("name") == member), None)
        job = self.jobs.get(owner.get("sheet", "")) if owner is not None else None
        if task is not None and owner is not None:
            task = self._task(part, member, job, owner.get("sheet")) or task
        return Veto(member, refuses, task, part.line)

    def _turn(self) -> tuple[str, ...]:
        said: tuple[str, ...] = self.read.shed.get("turn", ())
        for name in said:
            self._known(("shed", "turn"), name)
        if len(set(said)) != len(said):
            self._report(found.ShedTwice, ("shed", "turn"), what="a member in the turn")
        return said

    def _remarks(self, members: list[Member], tractors: list[Tractor], machines: list[Implement]) -> None:
        for part in self.read.windows:
            if part.get("member"):
                self._known((*part.path, "member"), part.get("member"))
        for part, member in zip((one for one in self.read.members if one.get("name")), members, strict=True):
            many = sum(1 for one in tractors if one.owner == member.name)
            owns = many or any(one.owner == member.name for one in machines)
            if not owns and not part.get("sheet"):
                self._report(found.ShedNothing, part.path, member=member.name)
            if many and member.drivers == 0:
                self._report(found.ShedNoDriver, part.path, member=member.name, count=many)

    def _roads_missing(self, members: list[Member], roads: tuple[tuple[str, str, float], ...]) -> None:
        given = {frozenset(road[:2]) for road in roads}
        for place, one in enumerate(members):
            for other in members[place + 1 :]:
                known = one.at_km is not None and other.at_km is not None
                if not known and one.name != other.name and frozenset((one.name, other.name)) not in given:
                    path = self.read.members[place].path
                    self._report(found.ShedRoad, path, one=one.name, other=other.name)
