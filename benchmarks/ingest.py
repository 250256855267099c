"""How fast a plain list goes in, and how that compares with handing every cell to a units library.

    python benchmarks/ingest.py [ROWS]

The rows are invented and always the same: 25 columns, numbers under headings with units, words of the trade, a name of
its own on each row. The whole ingest is timed, from the bytes of the file to the checkpointed store, validation
included, in a process of its own; its peak memory is the process's. Run it on an idle machine: it uses two cores.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from evener.ingest.columns.columns import read_column
from evener.ingest.columns.headers import match
from evener.ingest.store import batches, library
from evener.ingest.text.texts import Texts

ROWS = 1_000_000
PINT_CELLS = 2_000
CELLS = 200_000
REPEATS = 3


def write(path: Path, count: int) -> int:
    """Write a list of tractors and return its number of columns."""
    draw = np.random.default_rng(7)

    def between(low: float, high: float) -> np.ndarray:
        return draw.uniform(low, high, count)

    power = draw.integers(18, 300, count)
    mass = (power * between(75, 115)).astype(int)
    lift = (mass * between(0.45, 0.55)).astype(int)
    wheelbase = np.round(56 + power**0.5 * between(3.2, 4.2), 1)
    columns = {
        "stock number": [f"S-{place:07d}" for place in range(count)],
        "description": [f"Utility {hp} hp" for hp in power],
        "drive": draw.choice(["2wd", "4wd", "MFWD"], count),
        "transmission": draw.choice(["gear", "shuttle", "HST"], count),
        "year": draw.integers(1980, 2025, count),
        "hours (h)": draw.integers(0, 12_000, count),
        "asking price": draw.integers(3_000, 150_000, count),
        "engine power (hp)": np.round(power * between(1.12, 1.22), 1),
        "PTO power (hp)": power,
        "PTO speed (rpm)": np.full(count, 540),
        "weight (lb)": mass,
        "permitted mass (lb)": (mass * 1.7).astype(int),
        "hitch category": draw.integers(1, 3, count),
        "lift at 24 in (lb)": lift,
        "lift at ends (lb)": (lift * 1.4).astype(int),
        "loader lift (lb)": (mass * 0.4).astype(int),
        "loader height (in)": draw.integers(80, 150, count),
        "front axle load (lb)": (mass * 0.8).astype(int),
        "rear axle load (lb)": (mass * 1.2).astype(int),
        "hydraulic flow (gpm)": np.round(power * between(0.15, 0.22) + 1, 1),
        "remotes": draw.integers(0, 5, count),
        "wheelbase (in)": wheelbase,
        "rear tyre width (in)": np.round(between(10, 24), 1),
        "overall width (in)": np.round(wheelbase * between(0.8, 0.9), 1),
        "status": ["invented"] * count,
    }
    with path.open("w", encoding="utf-8") as file:
        file.write(",".join(columns) + "\n")
        file.writelines(
            f"{','.join(row)}\n" for row in zip(*(map(str, held) for held in columns.values()), strict=True)
        )
    return len(columns)


def ingest(store_path: Path, file: Path) -> dict[str, float]:
    """Ingest the list in this process, and return its seconds of wall clock and of processor, and peak memory [MB]."""
    wall, processor = time.perf_counter(), time.process_time()
    report = batches.ingest_file(store_path, file, kind="stock", owner="Benchmark")
    seconds, spent = time.perf_counter() - wall, time.process_time() - processor
    if report.quarantined or report.findings:
        raise SystemExit(f"{report.quarantined} rows refused: {report.findings[:1]}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"loaded": report.loaded, "seconds": seconds, "processor": spent, "peak_mb": peak}


def pint_seconds() -> float:
    """Return the seconds pint takes for one cell with its unit: read, and converted."""
    import pint

    registry = pint.UnitRegistry()
    registry.Quantity("1 lb").to("kg")
    cells = [f"{5000 + place * 7 % 3000} lb" for place in range(PINT_CELLS)]
    begun = time.perf_counter()
    for cell in cells:
        registry.Quantity(cell).to("kg")
    return (time.perf_counter() - begun) / len(cells)


def own_seconds() -> float:
    """Return the seconds the column reader takes for one cell of the same texts, each with its unit."""
    texts = Texts.of([f"{5000 + place * 7 % 3000} lb" for place in range(CELLS)])
    (weight,), _ = match(["weight"], "tractor")
    begun = time.perf_counter()
    read_column(weight, texts, lines=range(CELLS))
    return (time.perf_counter() - begun) / CELLS


def main() -> None:
    """Run the benchmark and print its figures."""
    if sys.argv[1:2] == ["--child"]:
        sys.stdout.write(json.dumps(ingest(Path(sys.argv[2]), Path(sys.argv[3]))))
        return
    count = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plain.csv"
        columns = write(file, count)
        print(f"{count:,} rows x {columns} columns, {file.stat().st_size / 1e6:.0f} MB")
        best = None
        for place in range(REPEATS):
            store_path = Path(folder) / f"store{place}.duckdb"
            library.build(store_path)
            command = [sys.executable, __file__, "--child", str(store_path), str(file)]
            took = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
            rate, size = count / took["seconds"], store_path.stat().st_size / 1e6
            print(f"  {took['seconds']:.2f} s, {took['processor']:.2f} s of processor: {rate:,.0f} rows/s")
            print(f"      peak memory {took['peak_mb']:,.0f} MB, store {size:.0f} MB")
            best = took if best is None or took["seconds"] < best["seconds"] else best
            store_path.unlink()
        pint, own = pint_seconds(), own_seconds()
        if best is not None:
            cell = best["seconds"] / count / columns
            print(
                f"best of {REPEATS}: {count / best['seconds']:,.0f} rows/s; a cell takes {cell * 1e9:,.0f} ns, stored"
            )
            print(f"pint takes {pint * 1e6:.0f} us to read and convert one cell: {pint / cell:,.0f} times as long")
        print(f"the column reader alone, on pint's texts: {own * 1e9:,.0f} ns a cell, 1/{pint / own:,.0f} of pint")


if __name__ == "__main__":
    main()
