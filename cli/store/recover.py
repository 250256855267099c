"""`evener recover`: open a store again whose log is damaged."""

from __future__ import annotations

from evener.cli.options import Store
from evener.cli.output import render
from evener.opening import location


def run(store: Store = None) -> int:
    """Open a store again whose log is damaged: the log is moved aside, and nothing is deleted."""
    from evener.store import Store as Held

    path = location(store)
    found = Held(path).recover()
    page = render.Page()
    if found.aside is None:
        page.lead(f"{path} opens as it is. Nothing was moved.")
        page.show()
        return 0
    page.lead(f"{path} opens again. Its log was damaged and was moved to {found.aside.name}; nothing was deleted.")
    kept = "no ingest" if found.last_batch is None else "{} ({}, {:%Y-%m-%d %H:%M} UTC)".format(*found.last_batch)
    page.facts(
        [
            ("last ingest", f"{kept} is the last that the store holds"),
            ("lost", "what was written after it and stood in the log alone; ingest those files again"),
        ]
    )
    if found.previous is not None:
        page.facts([("copy", f"{found.previous.name} is the store from before the last ingest that was begun")])
    page.show()
    return 1
