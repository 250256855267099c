"""`evener list quarantine`: the rows that were refused, with reasons, and as a list to correct and ingest again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from evener.cli.options import Format
from evener.cli.output import render

if TYPE_CHECKING:
    from evener.ingest.store.quarantine import Refused
    from evener.results.batches import Quarantine


def show(waiting: Quarantine, *, output: Format) -> int:
    """Print the rows that wait to be corrected; return 0, 1 when there are none, or 2 when a list needs one ingest."""
    if output is Format.json:
        render.json_out(waiting.to_dict())
    elif output is Format.csv:
        return _to_correct(waiting)
    else:
        _page(waiting.refused, markdown=output is Format.markdown)
    return 0 if waiting.refused else 1


def _to_correct(waiting: Quarantine) -> int:
    if waiting.mixed:
        named = ", ".join(f"{batch} ({file}, {count})" for (batch, file), count in waiting.mixed.items())
        render.complain(f"the refused rows come from files with different headings; choose with --batch: {named}")
        return 2
    render.csv_out(waiting.rows())
    if waiting.refused:
        render.complain("correct the cells, leave the columns that begin with 'evener' as they are, and ingest it")
    return 0 if waiting.refused else 1


def _page(rows: Sequence[Refused], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    if not rows:
        page.lead("No refused row waits to be corrected.")
    else:
        page.title(f"{len(rows)} refused row{'' if len(rows) == 1 else 's'} to correct")
        page.table(
            ["batch", "file", "line", "column", "found", "what is wrong", "what to do"],
            [
                [
                    row.batch_id,
                    row.file_name,
                    str(row.file_row),
                    one["column"] or "",
                    one["raw"] or "",
                    one["message"],
                    one["remedy"],
                ]
                for row in rows
                for one in row.findings
            ],
            right={2},
        )
        page.bullets(
            [
                "as a list to correct and ingest again: evener list quarantine --batch BATCH --format csv",
                "a row that is no machine: evener dismiss BATCH LINE",
            ]
        )
    page.show()
