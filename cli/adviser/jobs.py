"""A job sheet read for a command: what was noticed goes to stderr, and a sheet that cannot be sized ends it."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from evener.cli.options import Format, Readable, UnitSystem
from evener.cli.output import words
from evener.cli.store.opened import opened

if TYPE_CHECKING:
    from evener.enquiry.enquiry import Enquiry
    from evener.ingest.findings import Finding
    from evener.scoring.core.printing import Units


def enquiry(path: Path, store: Path | None, among: str = "class") -> Enquiry:
    """Return a job with the records of its store; where it cannot be sized, leave with status 2."""
    from evener.enquiry import accepted
    from evener.enquiry.refused import JobRefused

    kinds = accepted.kinds(among)
    held = opened(store)
    read = held.read_sheet(path)
    _print_findings(read.name, read.findings)
    try:
        return held.enquiry(read.sizable(), kinds)
    except JobRefused:
        raise typer.Exit(2) from None


def _print_findings(name: str, findings: Sequence[Finding]) -> None:
    """Write findings to stderr, one a line, with line and key."""
    if findings:
        count = len(findings)
        sys.stderr.write(f"{name}: {count} thing{'s' if count > 1 else ''} to look at\n")
    for finding in findings:
        where = f"line {finding.row}" if finding.row else "sheet"
        sys.stderr.write(f"  {where}: {words.sentences(finding.message, finding.what_to_do)}\n")


def units_of(asked: UnitSystem | None, output: Format | Readable, own: Units) -> Units:
    """Return the units to write in: as asked; else SI for programs and the sheet's own for people."""
    if asked is not None:
        return asked.value
    return "si" if output.value in ("json", "csv") else own
