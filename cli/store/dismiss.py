"""`evener dismiss`: refused rows that are no machines, and are not asked again."""

from __future__ import annotations

from typing import Annotated

import typer

from evener.cli.options import Format, Output, Store
from evener.cli.output import render
from evener.cli.store.opened import opened


def run(
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="As: evener list batches.", show_default=False)],
    lines: Annotated[list[int], typer.Argument(metavar="LINE...", help="Lines of its file.", show_default=False)],
    why: Annotated[str, typer.Option(metavar="TEXT", help="The reason.", show_default=False)] = "",
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Say that refused rows are no machines: they wait no more, and the next lists are not asked of them."""
    from evener.ingest.store.put_right.dismissing import dismiss

    made = dismiss(opened(store).path, batch, lines, why=why)
    answer = {"schema": 1, "batch_id": made, "dismissed_of": batch, "lines": sorted(set(lines))}
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out([{"batch_id": made, "dismissed_of": batch, "line": line} for line in sorted(set(lines))])
    else:
        page = render.Page(markdown=output is Format.markdown)
        number = len(set(lines))
        page.title(f"{number} row{'' if number == 1 else 's'} of {batch} {'is' if number == 1 else 'are'} dismissed")
        page.facts([*([("why", why)] if why else []), ("take back", f"evener undo {made}")])
        page.show()
    return 0
