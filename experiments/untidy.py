"""How the reader fares with untidy files of any sort: every file of a folder, in a process that is watched.

    python experiments/untidy.py FOLDER [FOLDER...] [--seconds 60] [--sample 100] [--csv out.csv]

The files need have nothing to do with the trade: they are read as lists of tractors, down to the rows as records, and
nothing is kept. A file may be read, or refused in words; a fault, a file that takes longer than it may, and more than
1 GB of memory are told by name. General collections of untidy CSV and XLSX serve best: those that programs for
telling dialects apart, and libraries that read spreadsheets, are tested with.

Read so far, up to 150 files of each, drawn: Mondrian (150, sheets with several tables) and Pollock (120) of HPI
Information Systems, CSVsniffer (78), CleverCSV (7), csv-spectrum (13), messytables (12), tabulator-py (27),
frictionless-py (17), XlsxWriter (120), calamine (69), readxl (49): 662 files, of which 584 were read and 78 refused
in words; no fault, none that hangs, at most 142 MB. Most of the refused hold no rows, or several sheets of which none
names columns.
"""

from __future__ import annotations

import argparse
import csv
import json
import queue
import random
import resource
import subprocess
import sys
import threading
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

KINDS = frozenset(
    {".csv", ".tsv", ".tab", ".txt", ".xlsx", ".xlsm", ".xls", ".xlsb", ".parquet", ".ods", ".ssv", ".psv"}
)
MOST_MB = 1024
FIELDS = (
    ("tractor_id",),
    ("label",),
    ("mass_kg", "lb"),
    ("pto_power_kw", "hp"),
    ("price",),
    ("note",),
    ("drive",),
    ("model_year",),
    ("hitch_lift_ends_kg", "kg"),
    ("pto_speeds_rpm", "rpm"),
    ("stock_status",),
    ("loader_height_m", "ft"),
    ("meter_hours_h", "h"),
    ("attachments",),
)
READ, REFUSED, FAULT, HANGS, FULL = "read", "refused", "fault", "hangs", "memory"


def read_one(path: Path) -> tuple[str, str]:
    """Read a file as a list of tractors, and return what came of it, in a word and in words."""
    from evener.ingest.columns import headers
    from evener.ingest.columns.headers import Choice
    from evener.ingest.columns.mappings import FileMapping, placed
    from evener.ingest.files import readers
    from evener.ingest.rows.checks.peers import Peers
    from evener.ingest.rows.known import Known
    from evener.ingest.rows.preparing import prepare

    known = Known({}, frozenset(), {}, Peers({}))
    # Few headings are of the trade, so each column is taken once more for a field of some kind, by its place.
    forced = FileMapping({str(place): Choice(*said) for place, said in enumerate(FIELDS, 1)})
    try:
        tables = readers.read_all(path, knows=headers.knows("tractor"))
        rows = [
            prepare(table, "tractor", known, owner="nobody", kind="stock", mapping=placed(mapping, table))
            for table in tables
            for mapping in (FileMapping(), forced)
        ]
    except readers.UnreadableFile as error:
        return REFUSED, str(error).removeprefix(path.name)
    except Exception:  # noqa: BLE001  faults are what is looked for
        return FAULT, traceback.format_exc()
    told = [finding.message for one in rows for finding in one.told]
    return READ, f"{sum(one.read for one in rows) // 2} rows, {len(told)} findings"


def watched() -> None:
    """Read the files that are named on standard input, a line each, and answer each with a line."""
    for line in sys.stdin:
        began = time.monotonic()
        kind, said = read_one(Path(json.loads(line)))
        took = time.monotonic() - began
        most = max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) >> 10
        sys.stdout.write(json.dumps([kind, said, took, most]) + "\n")
        sys.stdout.flush()


class Watch:
    """A process that reads file after file; one that hangs or grows too large is ended, and the next begun."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self._begin()

    def _begin(self) -> None:
        self.child = subprocess.Popen(
            [sys.executable, __file__, "--watched"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        self.answers: queue.Queue[str] = queue.Queue()
        threading.Thread(target=self._listen, args=(self.child, self.answers), daemon=True).start()

    @staticmethod
    def _listen(child: subprocess.Popen[str], answers: queue.Queue[str]) -> None:
        for line in child.stdout or ():
            answers.put(line)
        answers.put("")

    def read(self, path: Path) -> tuple[str, str, float, int]:
        """Return what came of a file, how long it took and how much memory [MB] its process had at most."""
        if self.child.stdin is None:
            raise RuntimeError("the process has no input")
        self.child.stdin.write(json.dumps(str(path)) + "\n")
        self.child.stdin.flush()
        try:
            line = self.answers.get(timeout=self.seconds)
        except queue.Empty:
            self.end()
            self._begin()
            return HANGS, f"more than {self.seconds:g} s", self.seconds, 0
        if not line:
            status = self.child.wait()
            self._begin()
            return FAULT, f"the process ended with status {status}", 0.0, 0
        kind, said, took, most = json.loads(line)
        if most > MOST_MB:
            self.end()
            self._begin()
            return FULL, f"{most} MB", took, most
        return kind, said, took, most

    def end(self) -> None:
        """End the process."""
        self.child.kill()
        self.child.wait()


def files_in(folders: list[Path], sample: int | None) -> Iterator[Path]:
    """Yield the files of folders that may hold lists, or some of each, by name."""
    for folder in folders:
        found = sorted(path for path in folder.rglob("*") if path.suffix.casefold() in KINDS and path.is_file())
        if sample is not None and sample < len(found):
            found = sorted(random.Random(7).sample(found, sample))  # noqa: S311  a draw of files
        yield from found


def main() -> None:
    """Read every file and print the counts, with the name of each that did not go as it should."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--sample", type=int, help="so many of each folder, drawn with a fixed seed")
    parser.add_argument("--csv", type=Path)
    parser.add_argument("--watched", action="store_true", help=argparse.SUPPRESS)
    said = parser.parse_args()
    if said.watched:
        watched()
        return
    watch, counts, told, slowest, largest = Watch(said.seconds), Counter[str](), [], 0.0, 0
    for path in files_in(said.folders, said.sample):
        kind, words, took, most = watch.read(path)
        counts[kind] += 1
        told.append((str(path), kind, words, round(took, 2), most))
        slowest, largest = max(slowest, took), max(largest, most)
        if kind in (FAULT, HANGS, FULL):
            print(f"{kind}: {path}\n{words}\n", flush=True)
    watch.end()
    print(", ".join(f"{count} {kind}" for kind, count in counts.most_common()) or "no file")
    print(f"slowest {slowest:.1f} s, most memory {largest} MB")
    if said.csv:
        with said.csv.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([("file", "outcome", "words", "seconds", "memory_mb"), *told])


if __name__ == "__main__":
    main()
