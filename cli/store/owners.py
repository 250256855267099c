"""`evener owners`: whose machines the store holds, and two names that are one owner's."""

from __future__ import annotations

from typing import Annotated

import typer

from evener.cli.options import Format, Output, Store
from evener.cli.output import render
from evener.cli.store.opened import opened


def run(
    owner: Annotated[str | None, typer.Argument(metavar="OWNER", help="An owner.", show_default=False)] = None,
    also: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME", help="A further name of OWNER: both are one from now on.", show_default=False),
    ] = None,
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """List owners with their further names, or say that two names are one owner's."""
    from evener import lists
    from evener.ingest.store.put_right.owning import CannotJoin

    path = opened(store).path
    if also:
        if owner is None:
            raise CannotJoin("name the owner too: evener owners OWNER --also NAME.")
        done = lists.join_owners(path, owner, also)
        answer = {"schema": 1, "owner": done.owner, "also": list(done.also), "moved": done.moved}
        answer["batch_ids"] = list(done.batch_ids)
        if output is Format.json:
            render.json_out(answer)
        elif output is Format.csv:
            render.csv_out([{**answer, "also": ";".join(done.also), "batch_ids": ";".join(done.batch_ids)}])
        else:
            page = render.Page(markdown=output is Format.markdown)
            page.title(f"{done.owner} is also called {', '.join(done.also)}")
            back = "; ".join(f"evener undo {one}" for one in reversed(done.batch_ids))
            page.facts([("brought over", f"{done.moved} record{'' if done.moved == 1 else 's'}"), ("take back", back)])
            page.show()
        return 0
    rows = [one for one in lists.owners(path) if owner is None or owner in (one["owner"], *one["also"])]
    if output is Format.json:
        render.json_out({"schema": 1, "owners": rows})
    elif output is Format.csv:
        render.csv_out([{**one, "also": ";".join(one["also"])} for one in rows])
    else:
        page = render.Page(markdown=output is Format.markdown)
        cells = [[one["owner"], ", ".join(one["also"]), str(one["tractors"]), str(one["implements"])] for one in rows]
        page.table(["owner", "also called", "tractors", "implements"], cells, right={2, 3})
        if not rows:
            page.lead("Nobody owns a machine in the store.")
        page.show()
    return 0 if rows else 1
