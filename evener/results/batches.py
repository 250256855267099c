"""What became of lists: loaded, refused and waiting to be corrected, or taken back."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from evener.results.answer import SCHEMA, Answer

if TYPE_CHECKING:
    from evener.ingest.findings import Finding
    from evener.ingest.store.quarantine import Refused
    from evener.ingest.store.report import IngestReport
    from evener.scoring.core.printing import Units


@dataclass(frozen=True)
class LoadedFile(Answer):
    """What became of one file.

    Attributes
    ----------
    report : counts, findings, and the rows as they were read
    dry_run : whether nothing was changed
    further : the same of the file's other lists: other sheets, or the implements of a mixed list
    """

    report: IngestReport
    dry_run: bool
    further: tuple[IngestReport, ...] = ()

    @property
    def reports(self) -> tuple[IngestReport, ...]:
        """What became of every list in the file."""
        return (self.report, *self.further)

    @property
    def name(self) -> str:
        """The file's name."""
        return self.report.rows.table.name if self.report.rows is not None else ""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything noticed, in the order of the file."""
        return tuple(finding for report in self.reports for finding in report.findings)

    def to_dict(self, units: Units = "si") -> dict[str, Any]:  # noqa: ARG002
        """Return the keys of the JSON contract; a dry run has what each column is taken for.

        Parameters
        ----------
        units : cells are told as they stand in the file, so this changes nothing
        """
        answer = {"schema": SCHEMA, "file": self.name, **self.report.as_dict()}
        if self.further:
            answer["further"] = [report.as_dict() for report in self.further]
        if self.dry_run:
            meant = self.report.mapping.items()
            answer["mapping"] = {heading: {"field": field, "unit": unit} for heading, (field, unit) in meant}
        return answer

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:  # noqa: ARG002
        """Return one row per finding.

        Parameters
        ----------
        units : as `to_dict`
        """
        return [{"file": self.name, **finding.as_group()} for finding in self.findings]


@dataclass(frozen=True)
class LoadedFiles(Answer):
    """What became of several files."""

    files: tuple[LoadedFile, ...]

    def to_dict(self, units: Units = "si") -> dict[str, Any]:
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : as `LoadedFile.to_dict`
        """
        told = [{name: value for name, value in one.to_dict(units).items() if name != "schema"} for one in self.files]
        return {"schema": SCHEMA, "files": told}

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return one row per finding of every file.

        Parameters
        ----------
        units : as `LoadedFile.to_dict`
        """
        return [row for one in self.files for row in one.rows(units)]


@dataclass(frozen=True)
class Undone(Answer):
    """One ingest that was taken back.

    Attributes
    ----------
    batch_id, record, file : the ingest
    removed, restored : records that are gone, and older versions that are back
    refused, waiting : refused rows of it that are gone, and of earlier ingests that wait again
    """

    batch_id: str
    record: str
    file: str
    removed: int
    restored: int
    refused: int
    waiting: int

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:
        """Return it as one row.

        Parameters
        ----------
        units : counts have none, so this changes nothing
        """
        return [{name: value for name, value in self.to_dict(units).items() if name != "schema"}]


@dataclass(frozen=True)
class Quarantine(Answer):
    """Rows that were refused and wait to be corrected."""

    refused: tuple[Refused, ...]

    @property
    def mixed(self) -> Counter[tuple[str, str]]:
        """Counts by ingest and file, where the rows come from files with different headings; else nothing."""
        if len({(row.record, row.headings) for row in self.refused}) <= 1:
            return Counter()
        return Counter((row.batch_id, row.file_name) for row in self.refused)

    def to_dict(self, units: Units = "si") -> dict[str, Any]:  # noqa: ARG002
        """Return the keys of the JSON contract.

        Parameters
        ----------
        units : cells are told as they stand in the file, so this changes nothing
        """
        return {"schema": SCHEMA, "quarantine": [row.as_dict() for row in self.refused]}

    def rows(self, units: Units = "si") -> list[dict[str, Any]]:  # noqa: ARG002
        """Return the rows as a list to correct and ingest again.

        Parameters
        ----------
        units : as `to_dict`
        """
        lists = [row.to_correct() for row in self.refused]
        names = list(dict.fromkeys(name for one in lists for name in one))
        return [{name: one.get(name, "") for name in names} for one in lists]
