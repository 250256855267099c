"""`evener undo`: take one ingest back."""

from __future__ import annotations

from pathlib import Path

from evener.cli.options import Format
from evener.cli.output import render
from evener.cli.store import stores
from evener.ingest.store.undo import undo


def run(batch: str, *, output: Format, store: Path | None) -> int:
    """Undo one ingest and say what became of its rows; return 0."""
    from evener.scoring.ratings.model import refresh

    report = undo(stores.location(store), batch, after=refresh)
    if output is Format.json:
        render.json_out({"schema": 1, **report.as_dict()})
    elif output is Format.csv:
        render.csv_out([report.as_dict()])
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
