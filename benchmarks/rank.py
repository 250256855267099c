"""How long a dealer's whole list takes to rank, and what memory it takes.

    python benchmarks/rank.py [TRACTORS]

The list is invented and always the same: half of the rows state tyres, wheelbase and axle loads, half leave them to the
class. It goes in by `evener ingest`; what is timed is `evener rank --among stock` in a process of its own, from start
to the printed JSON. Run it on an idle machine.
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

import evener

TRACTORS = 10_000
REPEATS = 3
SHEETS = ("seldom_dry.toml", "ridge.toml")
CHILD = "--child"


def write(path: Path, count: int) -> None:
    """Write a list of tractors."""
    draw = np.random.default_rng(11)
    power = draw.integers(18, 300, count)
    mass = (power * draw.uniform(75, 115, count)).astype(int)
    lift = (mass * draw.uniform(0.45, 0.55, count)).astype(int)
    wheelbase = np.round(56 + power**0.5 * draw.uniform(3.2, 4.2, count), 1)
    told = draw.random(count) < 0.5
    columns = {
        "stock number": [f"S-{place:07d}" for place in range(count)],
        "description": [f"Utility {hp} hp" for hp in power],
        "drive": draw.choice(["2wd", "4wd"], count),
        "PTO power (hp)": power,
        "PTO speed (rpm)": np.where(power > 80, "540/1000", "540"),
        "weight (lb)": mass,
        "hitch category": np.where(power > 90, 3, np.where(power > 40, 2, 1)),
        "lift at 24 in (lb)": lift,
        "lift at ends (lb)": (lift * 1.4).astype(int),
        "loader lift (lb)": (mass * 0.4).astype(int),
        "loader height (in)": draw.integers(90, 150, count),
        "hydraulic flow (gpm)": np.round(draw.uniform(6, 25, count), 1),
        "remotes": draw.integers(1, 4, count),
        "wheelbase (in)": np.where(told, wheelbase.astype(str), ""),
        "status": np.full(count, "invented"),
    }
    lines = [",".join(columns), *(",".join(map(str, row)) for row in zip(*columns.values(), strict=True))]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def child(store: str, sheet: str) -> None:
    """Rank in this process, and print what it took."""
    began = time.perf_counter()
    opened = evener.open(store)
    answer = opened.rank(sheet, among=("stock",))
    answer.to_dict("us")
    print(
        json.dumps(
            {
                "seconds": time.perf_counter() - began,
                "memory_gb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20,
                "ranked": answer.ranked,
                "pick": answer.pick,
            }
        )
    )


def main() -> None:
    """Build the store, rank, and print the best of some runs."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else TRACTORS
    with tempfile.TemporaryDirectory() as folder:
        demo = evener.demo(Path(folder) / "demo")
        listed = Path(folder) / "stock.csv"
        write(listed, count)
        evener.open(demo.path).ingest(listed, record="tractors", kind="stock", owner="a dealer")
        for sheet in SHEETS:
            runs = []
            for _ in range(REPEATS):
                began = time.perf_counter()
                command = [sys.executable, __file__, CHILD, str(demo.path), str(demo.jobs / sheet)]
                told = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
                runs.append((time.perf_counter() - began, told))
            whole, told = min(runs, key=lambda run: run[0])
            print(
                f"{sheet}: {told['ranked']:,} tractors in {whole:.2f} s whole, {told['seconds']:.2f} s from open to "
                f"answer, {told['memory_gb']:.2f} GB; pick {told['pick']}"
            )


if __name__ == "__main__":
    if sys.argv[1:2] == [CHILD]:
        child(sys.argv[2], sys.argv[3])
    else:
        main()
