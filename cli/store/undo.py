"""`evener undo`: take one ingest back."""

from __future__ import annotations

from typing import Annotated

import typer

from evener.cli.options import Format, Output, Store
from evener.cli.output import render
from evener.opening import location


def run(
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="As: evener list batches.", show_default=False)],
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Undo one ingest: its records go, and what they replaced comes back."""
    from evener.store import Store as Held

    report = Held(location(store)).undo(batch)
    if output is Format.json:
        render.json_out(report.to_dict())
    elif output is Format.csv:
        render.csv_out(report.rows())
    else:
        page = render.Page(markdown=output is Format.markdown)
        page.title(f"{report.batch_id} is undone: {report.file}")
        page.facts(
            [
                ("removed", f"{report.removed} {report.record} record{'' if report.removed == 1 else 's'}"),
                ("back", f"{report.restored} older version{'' if report.restored == 1 else 's'}"),
                ("refused rows", f"{report.refused} gone, {report.waiting} of earlier ingests wait again"),
            ]
        )
        page.show()
    return 0
