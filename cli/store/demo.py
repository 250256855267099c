"""`evener demo`: the invented scenario as a store in a folder, with a command to try for each kind of user."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer


def run(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to build it; made if missing.", show_default=False)
    ],
) -> int:
    """Build the invented demo store in a folder, and print commands to try."""
    from evener.scenario import demo

    built = demo(folder)
    for one in built.loaded:
        sys.stderr.write(f"  {one.name}: {one.report.loaded} loaded, {one.report.quarantined} refused\n")
    path, jobs, lists = built.path, built.jobs, built.lists
    sheet, member, store = jobs / "ridge.toml", jobs / "little_elsewhere.toml", f"--store {path}"
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
        f'  evener ingest {lists / "member_list.csv"} {store} --as implements --owner "Third Neighbour"\n'
    )
    return 0
