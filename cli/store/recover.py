"""`evener recover`: open a store again whose log is damaged."""

from __future__ import annotations

from typing import Annotated

import typer

from evener.cli.options import Store
from evener.cli.output import render
from evener.cli.store import restore
from evener.opening import location
from evener.schema.store import companions


def run(
    previous: Annotated[
        bool, typer.Option("--previous", help="Bring back the copy from before the last ingest that was begun.")
    ] = False,
    store: Store = None,
) -> int:
    """Recover a store whose log is damaged or lost, or bring back the copy kept of it; nothing is deleted."""
    from evener.store import Store as Held

    path = location(store)
    if previous:
        return restore.show(Held(path).take_previous(), path, companions.beside(path, companions.PREVIOUS))
    found = Held(path).recover()
    page = render.Page()
    if found.aside is None and not found.log_lost:
        page.lead(f"{path} opens as it is. Nothing was moved.")
        page.show()
        return 0
    what = f"was damaged and was moved to {found.aside.name}" if found.aside else "is gone or was cut short"
    page.lead(f"{path} opens again. Its log {what}; nothing was deleted.")
    kept = "no ingest" if found.last_batch is None else "{} ({}, {:%Y-%m-%d %H:%M} UTC)".format(*found.last_batch)
    page.facts(
        [
            ("last ingest", f"{kept} is the last that the store holds"),
            ("lost", "what was written after it and stood in the log alone; ingest those files again"),
        ]
    )
    if found.previous is not None:
        page.facts(
            [("copy", f"{found.previous.name} is the store from before the last ingest that was begun: --previous")]
        )
    page.show()
    return 1
