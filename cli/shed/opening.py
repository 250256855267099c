"""A shed opened for a command: what was noticed goes to stderr, and a shed that is refused ends it."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.options import Format, Readable, UnitSystem
from evener.cli.output import render, words
from evener.cli.store.opened import opened

if TYPE_CHECKING:
    from evener.scoring.core.printing import Units
    from evener.sheds.shed import Shed

ShedFolder = Annotated[
    Path, typer.Argument(metavar="SHED", help="Folder with a shed.toml, or that file.", show_default=False)
]
Names = Annotated[
    list[str] | None,
    typer.Argument(metavar="[TASK]...", help="Members or tasks; all when left out.", show_default=False),
]


@contextmanager
def undisturbed() -> Iterator[None]:
    """Keep what the solver itself prints off standard output, where only the answer goes."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def usable(path: Path, store: Path | None) -> Shed:
    """Return a shed that can be planned with; where it is refused, leave with status 2."""
    shed = opened(store).open_shed(path)
    findings = shed.read.findings
    refused = shed.read.shed is None
    shown = [one for one in findings if one.refuses] if refused else findings
    if shown:
        count = len(shown)
        sys.stderr.write(f"{shed.read.name}: {count} thing{'s' if count > 1 else ''} to look at\n")
    for one in shown:
        where = f"line {one.row}" if one.row else "file"
        sys.stderr.write(render.plain(f"  {where}: {words.sentences(one.message, one.what_to_do)}") + "\n")
    if refused:
        raise typer.Exit(2)
    return shed


def units_of(asked: UnitSystem | None, output: Format | Readable, own: Units) -> Units:
    """Return the units to write in: as asked; else SI for programs and the shed's own for people."""
    if asked is not None:
        return asked.value
    return "si" if output.value in ("json", "csv") else own
