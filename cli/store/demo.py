"""`evener demo`: the invented scenario as a store in a folder, with a command to try for each kind of user."""

from __future__ import annotations

import os
import sys
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from evener.cli.output import render

STORE = "demo.duckdb"
LOADED: tuple[tuple[str, str, str | None], ...] = (
    ("stock.csv", "tractors", "stock"),
    ("members_tractors.csv", "tractors", "member"),
    ("members_implements.csv", "implements", None),
)


def run(folder: Path) -> int:
    """Build the demo store and copy the job sheets; return 0, or 2 when a demo store is there already."""
    from evener.ingest.store import batches, library
    from evener.scoring.ratings.model import refresh

    path = folder / STORE
    if os.path.lexists(path):
        render.complain(f"{path} is there already; name another folder, or remove it first")
        return 2
    folder.mkdir(parents=True, exist_ok=True)
    library.build(path, after=refresh)
    data = resources.files("evener.demo_db")
    for name, record, kind in LOADED:
        with resources.as_file(data / name) as file:
            report = batches.ingest_file(path, file, record=record, kind=kind, after=refresh)
        sys.stderr.write(f"  {name}: {report.loaded} loaded, {report.quarantined} refused\n")
    jobs, lists = folder / "jobs", folder / "lists"
    _copy(data / "jobs", jobs)
    _copy(data / "lists", lists)
    sheet, member, store = jobs / "ridge.toml", jobs / "stone_ford.toml", f"--store {path}"
    sys.stdout.write(
        f"Built {path}: the library, an invented dealer's stock and three invented members.\n\n"
        f"An adviser with one customer:\n  evener rank {sheet} {store} --among stock\n"
        f"A cooperative, asking what a member's machines can do:\n"
        f"  evener rank {member} {store} --among member\n"
        f"An analyst, looking at the ratings behind the answers:\n"
        f"  evener audit {store}\n"
        f"Lists as dealers and members send them:\n"
        f"  evener ingest {lists / 'dealer_list.xlsx'} {store} --as tractors --kind stock"
        f" --mapping {lists / 'dealer_mapping.toml'}\n"
        f'  evener ingest {lists / "member_list.csv"} {store} --as implements --owner "Hazel Garth"\n'
    )
    return 0


def _copy(source: Traversable, target: Path) -> None:
    target.mkdir(exist_ok=True)
    for file in source.iterdir():
        if file.is_file() and not file.name.endswith(".py"):
            (target / file.name).write_bytes(file.read_bytes())
