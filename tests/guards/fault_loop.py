"""Let every write, sync and renaming of a change fail in turn, once and for ever, and see that nothing is lost.

Run by the tests with the library of failing calls before the system's own: `fault_loop.py FOLDER STORE ROWS [thorough]`
It prints how many calls were made and how many faults were met as JSON, or the first promise that was broken. Without
`thorough` what only reads is left out, and every change is done again only after the first fault of its kind.
"""

from __future__ import annotations

import ctypes
import json
import shutil
import sys
from pathlib import Path

from evener import lists
from evener.ingest.store import batches
from evener.schema.store import engine
from evener.schema.store.faults import StoreError
from evener.schema.store.keeping import backups, verifying
from evener.writing import written

CALLS = ("write", "sync", "rename")
FAULTS = ctypes.CDLL(None)


class Broken(Exception):
    """A promise that did not hold."""


class Place:
    """A folder with a store, and a state of it before and after each change."""

    def __init__(self, folder: Path, store: Path, rows: int, *, thorough: bool) -> None:
        self.thorough = thorough
        self.folder, self.path, self.saved = folder, folder / "own.duckdb", folder / "saved"
        self.kept = folder / "kept"
        self.kept.mkdir()
        lines = [f"S{place},Utility {place},{60 + place % 40},{5900 + place % 1999}" for place in range(rows)]
        self.list = folder / "list.csv"
        self.list.write_text("\n".join(["id,label,engine (hp),weight (lb)", *lines]) + "\n")
        shutil.copy(store, self.path)
        if not self.holds(self.path)[0]:
            first = folder / "first.txt"
            first.write_text("id,label,engine (hp),weight (lb)\nS,Utility,60,5900\n")
            lists.load(self.path, first, record="tractors", kind="stock")
        self.keep("plain")
        self.load()
        self.keep("loaded")

    def keep(self, name: str) -> None:
        shutil.copy(self.path, self.kept / name)

    def put(self, name: str) -> None:
        for old in self.folder.glob("*"):
            if old.is_file() and old.suffix not in (".csv", ".txt"):
                old.unlink()
        for hidden in self.folder.glob(".*"):
            hidden.unlink()
        shutil.copy(self.kept / name, self.path)
        shutil.copy(self.kept / "plain", self.saved)

    def load(self) -> None:
        lists.load(self.path, self.list, record="tractors", kind="stock")

    def undo(self) -> None:
        with engine.reading(self.path) as con:
            ((batch,),) = con.execute("SELECT batch_id FROM batch WHERE file_name = 'list.csv'").fetchall()
        lists.undo(self.path, batch)

    def back_up(self) -> None:
        with written(self.saved, self.path, replace=True) as unfinished:
            backups.back_up(self.path, unfinished)

    def restore(self) -> None:
        backups.restore(self.path, self.saved)

    def state(self, path: Path) -> str:
        if self.thorough and (found := verifying.verify(path)).findings:
            raise Broken(f"{path.name}: {found.findings}")
        return "{} tractors, {} ingests of the list, {} of a source".format(*self.holds(path))

    def holds(self, path: Path) -> tuple[int, int, int]:
        with engine.reading(path) as con:
            (found,) = con.execute(
                "SELECT (SELECT count(*) FROM tractor), (SELECT count(*) FROM batch WHERE file_name = 'list.csv'),"
                " (SELECT count(*) FROM tractor WHERE source_id IN (SELECT source_id FROM source))"
            ).fetchall()
        return found


def run(place: Place, change: str, begin: str) -> tuple[int, int]:
    """Return how many calls a change makes and how many faults were met, over all kinds of call."""
    watched = place.saved if change == "back_up" else place.path
    met = faults = 0
    for call, name in enumerate(CALLS):
        place.put(begin)
        before = place.state(watched)
        FAULTS.arm(call, 0, 0)
        getattr(place, change)()
        most = FAULTS.disarm()
        after = place.state(watched)
        met += most
        for once in (1, 0):
            for at in range(1, most + 1):
                where = f"{change}: {name} {at} of {most} fails {'once' if once else 'for ever'}"
                place.put(begin)
                FAULTS.arm(call, at, once)
                try:
                    getattr(place, change)()
                    said = ""
                except StoreError as error:
                    said = str(error)
                finally:
                    FAULTS.disarm()
                faults += 1
                try:
                    _hold(place, change, watched, said, (before, after), first=at == 1)
                except (Broken, StoreError) as broken:
                    raise Broken(f"{where}: {broken}; it had said: {said or 'nothing'}") from broken
    return met, faults


def _hold(place: Place, change: str, watched: Path, said: str, states: tuple[str, str], *, first: bool) -> None:
    before, after = states
    now = place.state(watched)
    if now not in states:
        raise Broken(f"{now} is neither {before} nor {after}")
    if not said and now != after:
        raise Broken("it reported success without it")
    if "othing was changed" in said and now != before:
        raise Broken("something was changed")
    if "\n" in said or "cannot be read whole" in said:
        raise Broken("that is not what happened")
    left = [one.name for one in place.folder.glob(".*")]
    if left:
        raise Broken(f"{left} is left")
    if now != after and (place.thorough or first):
        getattr(place, change)()
        if place.state(watched) != after:
            raise Broken("it does not work again")


def _leave_out_what_only_reads() -> None:
    batches.check_model = lambda *_: None
    verifying._bounds = verifying._references = lambda _: iter(())
    engine._threads = lambda: 1


def main() -> None:
    """Run all changes."""
    folder, store, rows = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
    if "thorough" not in sys.argv:
        _leave_out_what_only_reads()
    place = Place(folder, store, rows, thorough="thorough" in sys.argv)
    told = {}
    for change, begin in (("load", "plain"), ("undo", "loaded"), ("back_up", "loaded"), ("restore", "loaded")):
        told[change] = run(place, change, begin)
    sys.stdout.write(json.dumps(told))


if __name__ == "__main__":
    main()
