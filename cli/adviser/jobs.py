"""A job sheet with the store it is sized against, opened once for a command."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

import typer

from evener.cli.options import Format, UnitSystem
from evener.cli.output import render
from evener.cli.store import stores
from evener.ingest.jobsheet.reading import read_jobsheet
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.records import JobSheet, Tractor, TractorKind
from evener.schema.store import connection as store_module
from evener.scoring.core.setting import Library

if TYPE_CHECKING:
    from evener.ingest.findings import Finding
    from evener.schema.store.engine import Connection

KINDS: tuple[TractorKind, ...] = get_args(TractorKind)


@dataclass(frozen=True)
class Opened:
    """Everything a command needs to answer for one job."""

    job: JobSheet | None
    findings: list[Finding]
    library: Library
    tractors: list[Tractor]


def open_job(path: Path, store: Path | None, kinds: Sequence[TractorKind] | None = None) -> Opened:
    """Read a job sheet with the words and ids of the store it is to be sized against.

    Parameters
    ----------
    path : the job sheet
    store : what --store says
    kinds : kinds of tractor record wanted beside the generic classes and those the sheet names; all when left out
    """
    with store_module.open_read(stores.ensure_library_store(store)) as con:
        library = _library(con)
        known = vocabulary(library, store_module.read_names(con, "tractor"))
        job, findings = read_jobsheet(path, known)
        named = {one.tractor_id for one in job.machines if one.tractor_id} if job else set()
        tractors = store_module.read_tractors(con, None if kinds is None else {"class", *kinds}, named)
    return Opened(job, findings, library, tractors)


def open_library(store: Path | None) -> tuple[Library, set[str]]:
    """Return the records and tables of a store, and the ids of its tractors; the library's where there is no store yet."""
    with store_module.open_read(stores.ensure_library_store(store)) as con:
        return _library(con), store_module.read_names(con, "tractor")


def _library(con: Connection) -> Library:
    implements = {one.implement_id: one for one in store_module.read_implements(con)}
    families, fits = store_module.read_families(con), store_module.read_rating_fits(con)
    return Library(implements, families, fits, store_module.read_reference(con))


def vocabulary(library: Library, tractors: Set[str]) -> Vocabulary:
    """Return the words a sheet may use with these records and the ids of tractors."""
    return Vocabulary.of(
        library.families.values(),
        implements={one.implement_id: one.family for one in library.implements.values()},
        tractors=tractors,
    )


def need_job(
    path: Path, store: Path | None, kinds: Sequence[TractorKind] | None = None
) -> tuple[JobSheet, Library, list[Tractor]]:
    """Return a job that can be sized; otherwise write every mistake of its sheet to stderr and leave with status 2."""
    opened = open_job(path, store, kinds)
    refusing = [finding for finding in opened.findings if finding.refuses]
    if opened.job is None or refusing:
        print_findings(path, opened.findings)
        raise typer.Exit(2)
    print_findings(path, opened.findings)
    return opened.job, opened.library, opened.tractors


def kinds_of(among: str) -> list[TractorKind] | None:
    """Return the kinds of record --among names, or None after saying which there are."""
    asked = [kind.strip() for kind in among.split(",") if kind.strip()]
    kinds = [kind for kind in KINDS if kind in asked]
    unknown = [kind for kind in asked if kind not in KINDS]
    if unknown or not kinds:
        render.complain(f"--among takes {', '.join(KINDS)}, not {', '.join(unknown) or 'nothing'}")
        return None
    return kinds


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
