"""`evener list quarantine`: the rows that were refused, with reasons, and as a list to correct and ingest again."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from evener.cli.options import Format
from evener.cli.output import render
from evener.cli.store import stores
from evener.ingest.store import quarantine
from evener.ingest.store.quarantine import Refused
from evener.schema.store import connection as stored


def run(batch: str | None, *, output: Format, store: Path | None) -> int:
    """Print the rows that wait to be corrected; return 0, 1 when there are none, or 2 when a list needs one ingest."""
    path = stores.ensure_library_store(store)
    with stored.open_read(path) as con:
        rows = quarantine.waiting(con, batch)
    if output is Format.json:
        render.json_out({"schema": 1, "quarantine": [row.as_dict() for row in rows]})
    elif output is Format.csv:
        return _to_correct(rows)
    else:
        _page(rows, markdown=output is Format.markdown)
    return 0 if rows else 1


def _to_correct(rows: list[Refused]) -> int:
    if len({(row.record, row.headings) for row in rows}) > 1:
        counts = Counter((row.batch_id, row.file_name) for row in rows)
        named = ", ".join(f"{batch} ({file}, {count})" for (batch, file), count in counts.items())
        render.complain(f"the refused rows come from files with different headings; choose with --batch: {named}")
        return 2
    lists = [row.to_correct() for row in rows]
    names = list(dict.fromkeys(name for one in lists for name in one))
    render.csv_out([{name: one.get(name, "") for name in names} for one in lists])
    if rows:
        render.complain("correct the cells, leave the columns that begin with 'evener' as they are, and ingest it")
    return 0 if rows else 1


def _page(rows: list[Refused], *, markdown: bool) -> None:
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
                    one["fix"],
                ]
                for row in rows
                for one in row.findings
            ],
            right={2},
        )
        page.bullets(["as a list to correct and ingest again: evener list quarantine --batch BATCH --format csv"])
    page.show()
