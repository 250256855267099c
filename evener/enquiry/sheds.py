"""Opening a shed: its file, the sheets and lists of its folder, and the records of its members in the store."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from evener.enquiry import given
from evener.enquiry.refused import JobRefused, RecordRefused
from evener.ingest.files.readers import UnreadableFile
from evener.ingest.jobsheet.reading import read_jobsheet
from evener.ingest.shed import findings as found
from evener.ingest.shed.assembling import shed_of
from evener.ingest.shed.reading import ShedFile, read_shed_file
from evener.schema.identity import plain_owner
from evener.scoring.shed.calendar import regions

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from evener.enquiry.holdings import Holdings
    from evener.ingest.findings import Finding
    from evener.schema.records import Implement, JobSheet, Tractor
    from evener.schema.shed import Shed

FILE = "shed.toml"
_Owned = TypeVar("_Owned", "Tractor", "Implement")


@dataclass(frozen=True)
class ReadShed:
    """A shed as it was read.

    Attributes
    ----------
    name : name of its file
    shed : the shed, or None where nothing can be planned with it
    findings : what was noticed, in the order of its lines; those of sheets and lists name their file
    holdings : the records and tables it rests on, its lists among them
    files : the files that were read
    """

    name: str
    shed: Shed | None
    findings: tuple[Finding, ...]
    holdings: Holdings
    files: tuple[Path, ...] = ()

    def usable(self) -> Shed:
        """Return the shed.

        Raises
        ------
        evener.JobRefused
            Nothing can be planned with it; `findings` says why.
        """
        if self.shed is None:
            raise JobRefused(self.name, self.findings)
        return self.shed


def read_shed(path: str | Path, holdings: Holdings, store: Path) -> ReadShed:
    """Read a shed.

    Parameters
    ----------
    path : its folder, or its file
    holdings : the store's records and tables
    store : the store, whose spellings lists are read with; it stays as it is
    """
    file = Path(path)
    file = file / FILE if file.is_dir() else file
    read = read_shed_file(file, holdings.words)
    if not isinstance(read, ShedFile):
        return ReadShed(file.name, None, read, holdings)
    tractors, machines = _lists(read, store)
    try:
        holdings = given.beside(holdings, tractors, machines)
    except RecordRefused as error:
        read.reading.report(found.ShedList, ("shed", "lists"), name="lists", reason=str(error), hint="correct it")
    jobs = _sheets(read, holdings)
    owned = holdings.library.implements.values()
    called = _as_members_are_called(read, holdings.aliases)
    shed, findings = shed_of(read, jobs, called(holdings.tractors), called(owned), regions())
    named = [*read.shed.get("lists", ()), *(part.get("sheet") for part in read.members if part.get("sheet"))]
    return ReadShed(file.name, shed, findings, holdings, (file, *(file.parent / name for name in named)))


def _lists(read: ShedFile, store: Path) -> tuple[list[Tractor], list[Implement]]:
    tractors: list[Tractor] = []
    machines: list[Implement] = []
    for place, name in enumerate(read.shed.get("lists", ())):
        where = ("shed", "lists", place)
        path = read.file.parent / name
        try:
            if "tractor" in path.name:
                tractors += given.tractors(path, store)
            elif "machine" in path.name or "implement" in path.name:
                machines += given.implements(path, store)
            else:
                hint = "call it tractors.csv or machines.csv, so that it is known what it lists"
                read.reading.report(found.ShedList, where, name, name=name, reason="its name says neither", hint=hint)
        except (RecordRefused, UnreadableFile, OSError) as error:
            hint = "put it right; evener ingest --dry-run shows all that is wrong with a list"
            read.reading.report(found.ShedList, where, name, name=name, reason=str(error).rstrip("."), hint=hint)
    return tractors, machines


def _as_members_are_called(read: ShedFile, aliases: Mapping[str, str]) -> Callable[[Iterable[_Owned]], list[_Owned]]:
    """Return what gives records the owner's name that the shed file uses, where it is a further name of the owner."""
    owner_of = {plain_owner(alias): owner for alias, owner in aliases.items()}
    said = [name for part in read.members if isinstance(name := part.get("name"), str)]
    names = {owner_of[plain_owner(name)]: name for name in said if plain_owner(name) in owner_of}

    def called(records: Iterable[_Owned]) -> list[_Owned]:
        return [replace(one, owner=names[one.owner]) if one.owner in names else one for one in records]

    return called


def _sheets(read: ShedFile, holdings: Holdings) -> dict[str, JobSheet]:
    jobs = {}
    for part in read.members:
        name = part.get("sheet")
        if name is None or name in jobs:
            continue
        job, findings = read_jobsheet(read.file.parent / name, holdings.words)
        refusing = [one for one in findings if one.refuses]
        if job is not None and not refusing:
            jobs[name] = job
            continue
        for one in refusing[:5]:
            reason = f"line {one.row}: {one.message}" if one.row else one.message
            read.reading.report(
                found.ShedList, (*part.path, "sheet"), name, name=name, reason=reason, hint=one.what_to_do
            )
    return jobs
