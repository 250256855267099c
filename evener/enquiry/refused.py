"""What a call refuses, with what is wrong and what to do; every class carries the exit status of the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evener.ingest.findings import Finding


class Refused(ValueError):
    """Something a call cannot take; nothing was done."""

    exit_status: ClassVar[int] = 2


class WrongUse(Refused):
    """An argument that is out of its bounds or means nothing; the text begins with its name."""


class RecordRefused(Refused):
    """A record with a value it cannot hold; the text names record, field and value."""


class NoSuchTractor(Refused, LookupError):
    """No tractor record has this id; the nearest are in the text."""


class JobRefused(Refused):
    """A job sheet that cannot be sized.

    Attributes
    ----------
    findings : everything that is wrong with it, in the order of its lines
    """

    def __init__(self, name: str, findings: Sequence[Finding]) -> None:
        lines = [f"line {one.row}: {one.message}" if one.row else one.message for one in findings]
        super().__init__("\n  ".join([f"{name} cannot be sized:", *lines]))
        self.findings = tuple(findings)
