"""`evener restore`: the store brought back from a backup; the one from before is kept."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.options import Store
from evener.cli.output import render
from evener.cli.store.verify import facts
from evener.opening import location

if TYPE_CHECKING:
    from evener.schema.store.keeping.backups import Restored


def run(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup, or any copy of a store.", show_default=False)],
    store: Store = None,
) -> int:
    """Restore the store from a backup: checked before and after; the store from before is kept under another name."""
    from evener.store import Store as Held

    path = location(store)
    return show(Held(path).restore(file), path, file)


def show(restored: Restored, path: Path, copy: Path) -> int:
    """Say what came back and what is lost; return 0, or 1 where ingests are lost or cannot be told.

    Parameters
    ----------
    restored : what was done
    path : the store
    copy : what it was brought back from
    """
    page = render.Page()
    page.title(f"{path} is brought back from {copy.name}")
    page.facts([(name, said) for name, said in facts(restored.verified) if name in ("holds", "last ingest")])
    if restored.aside is not None:
        page.facts([("kept", f"the store from before is {restored.aside.name}; nothing was deleted")])
    if restored.lost is None:
        page.facts(
            [("lost", "what was loaded later; the store from before cannot be read to say what. Ingest it again")]
        )
    elif restored.lost:
        page.facts([("lost", f"{', '.join(restored.lost)}; ingest those files again")])
    page.show()
    return 1 if restored.lost is None or restored.lost else 0
