"""`evener backup`: the store copied into a file, checked before and after."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from evener.cli.options import Replace, Store
from evener.cli.output import render
from evener.cli.store.verify import facts
from evener.opening import location


def run(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to copy the store.", show_default=False)],
    replace: Replace = False,
    store: Store = None,
) -> int:
    """Back the store up into a file: checked before and after, whole or not at all."""
    from evener.store import Store as Held

    path = location(store)
    found = Held(path).back_up(file, replace=replace)
    page = render.Page()
    page.title(f"{path.name} is copied to {file}")
    page.facts([(name, said) for name, said in facts(found) if name in ("holds", "last ingest")])
    page.lead(f"SHA-256 {found.sha256}")
    page.facts([("bring back", f"evener restore {file}")])
    page.show()
    return 0
