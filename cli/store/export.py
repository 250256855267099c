"""`evener export`: records as CSV that reads back to the same records."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evener.cli.options import Export, Replace, Store
from evener.cli.output import render
from evener.cli.store.opened import opened


def run(
    kind: Annotated[Export, typer.Argument(metavar="KIND", help="tractors or implements.", show_default=False)],
    among: Annotated[
        str | None, typer.Option("--kind", help="Only tractors of this kind: stock, member or class.")
    ] = None,
    owner: Annotated[str | None, typer.Option(help="Only records of this owner.", show_default=False)] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="File to write, else standard output.", show_default=False)
    ] = None,
    replace: Replace = False,
    store: Store = None,
) -> int:
    """Write records as CSV that ingest reads back to the same records."""
    text = opened(store).export(kind.value, tractor_kind=among, owner=owner, file=out, replace=replace)
    if out is None:
        render.list_out(text)
    return 0 if text.count("\n") > 1 else 1
