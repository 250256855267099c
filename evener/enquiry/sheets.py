"""Reading job sheets with the words and ids of the records they are held against."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from evener.enquiry.refused import JobRefused
from evener.ingest.jobsheet.reading import read_jobsheet

if TYPE_CHECKING:
    from evener.enquiry.holdings import Holdings
    from evener.ingest.findings import Finding
    from evener.schema.records import JobSheet


@dataclass(frozen=True)
class ReadSheet:
    """A job sheet as it was read.

    Attributes
    ----------
    name : name of its file
    job : the sheet, or None where it cannot be sized
    findings : what was noticed, in the order of its lines
    """

    name: str
    job: JobSheet | None
    findings: tuple[Finding, ...]

    def sizable(self) -> JobSheet:
        """Return the job.

        Raises
        ------
        evener.JobRefused
            It cannot be sized; `findings` says why.
        """
        if self.job is None or any(one.refuses for one in self.findings):
            raise JobRefused(self.name, self.findings)
        return self.job


def read_sheet(path: str | Path, holdings: Holdings) -> ReadSheet:
    """Read a job sheet.

    Parameters
    ----------
    path : a TOML file
    holdings : the records it may name
    """
    job, findings = read_jobsheet(path, holdings.words)
    return ReadSheet(Path(path).name, job, tuple(findings))
