"""The invented scenario: a store with a library, a dealer's stock and members' machines, and job sheets to try."""

from __future__ import annotations

import os
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from evener import lists
from evener.enquiry.refused import Refused
from evener.ingest.store import library
from evener.schema.store import companions
from evener.scoring.ratings.refresh import refresh
from evener.writing import written_into

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

    from evener.results.batches import LoadedFile

STORE = "demo.duckdb"
LOADED: tuple[tuple[str, str, str | None], ...] = (
    ("stock.csv", "tractors", "stock"),
    ("members_tractors.csv", "tractors", "member"),
    ("members_implements.csv", "implements", None),
)


@dataclass(frozen=True)
class Demo:
    """The invented scenario in a folder.

    Attributes
    ----------
    path : its store
    jobs, lists : folders of job sheets, and of lists as dealers and members send them
    loaded : what became of each file that was loaded
    """

    path: Path
    jobs: Path
    lists: Path
    loaded: tuple[LoadedFile, ...]


def demo(folder: str | Path) -> Demo:
    """Build the invented scenario.

    Parameters
    ----------
    folder : where; made if it is missing

    Raises
    ------
    evener.Refused
        A demo store is there already.
    evener.StoreError
        The folder cannot be written, or holds other files of the same names; then nothing is built.
    """
    folder = Path(folder)
    path, jobs, sent = folder / STORE, folder / "jobs", folder / "lists"
    if os.path.lexists(path):
        raise Refused(f"{path} is there already; name another folder, or remove it first")
    data = resources.files("evener.demo_db")
    for source, target in ((data / "jobs", jobs), (data / "lists", sent)):
        taken = [target / file.name for file in source.iterdir() if os.path.lexists(target / file.name)]
        if taken:
            raise Refused(f"{taken[0]} is there already; name another folder")
    _copy(data / "jobs", jobs, path)
    _copy(data / "lists", sent, path)
    _copy(data / "shed", folder / "shed", path)
    library.build(path, after=refresh)
    loaded = []
    for name, record, kind in LOADED:
        with resources.as_file(data / name) as file:
            loaded.append(lists.load(path, file, record=record, kind=kind))
    # The copy from before the last of these lists is of no step that its user has made.
    companions.beside(path, companions.PREVIOUS).unlink(missing_ok=True)
    return Demo(path, jobs, sent, tuple(loaded))


def _copy(source: Traversable, target: Path, store: Path) -> None:
    with written_into(target, store) as folder:
        for file in source.iterdir():
            if file.is_file() and not file.name.endswith(".py"):
                (folder / file.name).write_bytes(file.read_bytes())
