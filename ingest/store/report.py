"""What became of one list: counts, findings, what its columns were taken for, and what is new, changed and gone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from evener.ingest.findings import Finding
from evener.ingest.rows.meaning import meanings
from evener.ingest.rows.rows import Rows
from evener.ingest.store.snapshot import Difference

COUNTS = ("read", "loaded", "unchanged", "superseded", "quarantined")


@dataclass(frozen=True)
class WholeList:
    """A list that is all its owner has, so that what it does not name is gone.

    Attributes
    ----------
    most_gone : whether it is known that most of the owner's units are gone
    """

    most_gone: bool = False


@dataclass(frozen=True)
class IngestReport:
    """What became of one file.

    Attributes
    ----------
    batch_id : the ingest that changed the store, or the earlier one that had loaded the same file, or None
    read : rows read; always loaded + unchanged + superseded + quarantined, unless the headings rule the file out
    loaded : rows new to the store
    unchanged : rows the store held as they are
    superseded : rows that replaced an older version
    quarantined : rows refused
    findings : everything noticed, in the order of the file
    mapping : by heading, the field it fills and the unit of its bare numbers
    rows : the rows as they were read
    difference : what a whole list says beside the records held; None for a list that is none
    """

    batch_id: str | None
    read: int
    loaded: int
    unchanged: int
    superseded: int
    quarantined: int
    findings: tuple[Finding, ...]
    mapping: dict[str, tuple[str | None, str | None]] = field(default_factory=dict)
    rows: Rows | None = field(default=None, repr=False, compare=False)
    difference: Difference | None = field(default=None, compare=False)

    def as_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract."""
        return {
            "batch_id": self.batch_id,
            "read": self.read,
            "loaded": self.loaded,
            "unchanged": self.unchanged,
            "superseded": self.superseded,
            "quarantined": self.quarantined,
            "findings": [finding.as_group() for finding in self.findings],
            "columns": [one.as_dict() for one in meanings(self.rows)] if self.rows is not None else [],
            **({"difference": self.difference.as_dict()} if self.difference is not None else {}),
        }
