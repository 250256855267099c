"""A job sheet with the store it is sized against, opened once for a command."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import typer

from evener.cli import stores
from evener.cli.options import Format, UnitSystem
from evener.ingest.jobsheet import read_jobsheet
from evener.ingest.jobsheet_words import Vocabulary
from evener.schema import store as store_module
from evener.schema.records import JobSheet, Tractor
from evener.scoring.setting import Library

if TYPE_CHECKING:
    from evener.ingest.findings import Finding


@dataclass(frozen=True)
class Opened:
    """Everything a command needs to answer for one job."""

    job: JobSheet | None
    findings: list[Finding]
    library: Library
    tractors: list[Tractor]


def open_job(path: Path, store: Path | None) -> Opened:
    """Read a job sheet with the words and ids of the store it is to be sized against."""
    with store_module.open_read(stores.ensure_library_store(store)) as con:
        tractors = store_module.read_tractors(con)
        implements = {one.implement_id: one for one in store_module.read_implements(con)}
        families = store_module.read_families(con)
        library = Library(implements, families, store_module.read_rating_fits(con), store_module.read_reference(con))
    words = Vocabulary.of(
        families.values(),
        implements={one.implement_id: one.family for one in implements.values()},
        tractors={one.tractor_id for one in tractors},
    )
    job, findings = read_jobsheet(path, words)
    return Opened(job, findings, library, tractors)


def need_job(path: Path, store: Path | None) -> tuple[JobSheet, Library, list[Tractor]]:
    """Return a job that can be sized; otherwise write every mistake of its sheet to stderr and leave with status 2."""
    opened = open_job(path, store)
    refusing = [finding for finding in opened.findings if finding.refuses]
    if opened.job is None or refusing:
        print_findings(path, opened.findings)
        raise typer.Exit(2)
    print_findings(path, opened.findings)
    return opened.job, opened.library, opened.tractors


def print_findings(path: Path, findings: list[Finding]) -> None:
    """Write findings to stderr, one a line, with line and key."""
    if findings:
        count = len(findings)
        sys.stderr.write(f"{path.name}: {count} thing{'s' if count > 1 else ''} to look at\n")
    for finding in findings:
        where = f"line {finding.row}" if finding.row else "sheet"
        fix = finding.fix
        sys.stderr.write(f"  {where}: {finding.message}. {fix[:1].upper()}{fix[1:]}.\n")


def units_of(asked: UnitSystem | None, output: Format, job: JobSheet) -> Literal["si", "us"]:
    """Return the units to write in: as asked; else SI for programs and the sheet's own for people."""
    if asked is not None:
        return asked.value
    return "si" if output in {Format.json, Format.csv} else job.policy.units
