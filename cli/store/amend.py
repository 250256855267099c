"""`evener amend`: a machine's figure corrected or doubted by hand, and remembered against the owner's next list."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.options import Format, Machines, Output, Store
from evener.cli.output import render
from evener.cli.store.opened import opened

if TYPE_CHECKING:
    from evener.ingest.store.put_right.amending import Amended


def run(
    machine: Annotated[str, typer.Argument(metavar="MACHINE", help="Its id, or 12@OWNER.", show_default=False)],
    figures: Annotated[
        list[str] | None,
        typer.Argument(metavar="FIELD=VALUE...", help="What holds, as a list has it: weight='5200 lb'."),
    ] = None,
    why: Annotated[str, typer.Option(metavar="TEXT", help="The reason.", show_default=False)] = "",
    doubt: Annotated[
        float | None,
        typer.Option(min=0, max=100, help="The figure may be off by so many per cent.", show_default=False),
    ] = None,
    as_listed: Annotated[
        list[str] | None,
        typer.Option(metavar="FIELD", help="Take the list's word again.", show_default=False),
    ] = None,
    record: Annotated[
        Machines | None, typer.Option("--as", help="Where a tractor and an implement share the id.", show_default=False)
    ] = None,
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Correct a machine's figures by hand, or doubt them; the next lists do not undo it while they say the same."""
    from evener.ingest.store.put_right.amending import CannotAmend, amend
    from evener.scoring.ratings.refresh import refresh

    given: dict[str, str | None] = {}
    for pair in figures or []:
        name, equals, value = pair.partition("=")
        if equals and not value.strip():
            raise CannotAmend(f"{pair!r} has no value: write FIELD=VALUE, or the field alone with --doubt PERCENT.")
        given[name.strip()] = value.strip() if equals else None
    kind = record.value.removesuffix("s") if record is not None else None
    done = amend(
        opened(store).path,
        machine,
        given,
        why=why,
        doubt_pct=doubt,
        as_listed=as_listed or (),
        record=kind,
        after=refresh,
    )
    _told(done, why, output)
    return 1 if done.findings else 0


def _told(done: Amended, why: str, output: Format) -> None:
    changes = [{"field": one.field, "was": one.was, "now": one.now} for one in done.changes]
    if output is Format.json:
        found = [one.as_group() for one in done.findings]
        answer = {"schema": 1, "batch_id": done.batch_id, "record": done.record, "name": done.name, "why": why}
        render.json_out({**answer, "changes": changes, "findings": found})
    elif output is Format.csv:
        render.csv_out([{"batch_id": done.batch_id, "name": done.name, **one} for one in changes])
    else:
        page = render.Page(markdown=output is Format.markdown)
        page.title(f"{done.name} is amended")
        page.table(["field", "was", "now"], [list(one.values()) for one in changes])
        page.facts([*([("why", why)] if why else []), ("take back", f"evener undo {done.batch_id}")])
        page.bullets(f"{one.message}: {one.what_to_do}" for one in done.findings)
        page.show()
