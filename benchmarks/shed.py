"""How long a shed takes: the matrix and the plan, in processor time, over the number of members.

`python benchmarks/shed.py [MEMBERS...]` prints a table; each shed is invented from the library's own records: for every
member two tractors, four machines or so, and seven or eight tasks over twelve weeks.
"""

from __future__ import annotations

import datetime as dt
import random
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import evener
from evener.enquiry.holdings import Holdings
from evener.schema.records import JobSheet, LandUse, Place, Policy, Quantity, Task
from evener.schema.shed import Member, Shed, Window
from evener.scoring.core.draws import Draws
from evener.scoring.shed.matrix import DRAWS, matrix
from evener.scoring.shed.planning.plan import plan
from evener.sheds.assigning import season_of

WEEKS = 12
SEED = 20
FIRST = dt.date(2027, 5, 3)
FAMILIES = (
    "disc_mower",
    "drum_mower",
    "mower_conditioner",
    "finish_mower",
    "tedder",
    "rotary_rake",
    "round_baler",
    "rotary_cutter",
    "flail_mower",
    "rotary_tiller",
    "power_harrow",
    "disk_harrow",
    "grain_drill",
    "mounted_sprayer",
    "spreader_spinner",
)
GAP = 0.01


def exactly(value: float) -> Quantity:
    """Return a stated quantity."""
    return Quantity(value, value, "exact", f"{value:g}")


def invented(held: Holdings, members: int) -> Shed:
    """Return a shed invented from the library's records; the same for the same number of members."""
    draw = random.Random(SEED)  # noqa: S311 - an invented shed
    classes = [one for one in held.tractors if one.kind == "class" and (one.pto_power_kw or 0) < 80]
    tools = [one for one in held.library.implements.values() if one.family in FAMILIES and one.owner is None]
    people, tractors, machines = [], [], []
    for number in range(members):
        name = f"Member {number:02d}"
        for _ in range(2):
            one = draw.choice(classes)
            tractors.append(replace(one, tractor_id=f"T{len(tractors):03d}", kind="member", owner=name))
        for _ in range(3 if number % 4 else 6):
            tool = draw.choice(tools)
            machines.append(replace(tool, implement_id=f"M{len(machines):03d}", owner=name))
        people.append(_member(draw, name, number))
    return Shed(
        "An invented shed",
        tuple(people),
        tuple(tractors),
        tuple(machines),
        first=FIRST,
        last=FIRST + dt.timedelta(days=7 * WEEKS - 1),
        workable="usual",
    )


def _member(draw: random.Random, name: str, number: int) -> Member:
    slope, use = exactly(draw.choice([0.02, 0.05, 0.08, 0.12])), "hay"
    land = (LandUse(use, exactly(draw.choice([4.0, 8.0, 12.0]))),)
    tasks = tuple(
        Task(f"Task {place}", draw.choice(FAMILIES), land=use, yield_t_ha=exactly(3.5))
        for place in range(8 if number % 2 else 7)
    )
    windows = []
    for task in tasks:
        first = FIRST + dt.timedelta(days=draw.randrange(7 * WEEKS - 14))
        windows.append(Window(task.name, first, first + dt.timedelta(days=draw.randrange(6, 14))))
    job = JobSheet(Place(name, land, slope), tasks, policy=Policy())
    at = (draw.uniform(0, 25), draw.uniform(0, 25))
    return Member(name, job, at, drivers=draw.choice([1, 1, 2]), windows=tuple(windows))


def main() -> None:
    """Print the table."""
    sizes = [int(one) for one in sys.argv[1:]] or [5, 10, 20, 40]
    with tempfile.TemporaryDirectory() as folder:
        store = evener.open(Path(folder) / "store.duckdb", build=True)
        held = store.holdings
    classes = [one for one in held.tractors if one.kind == "class"]
    print("members tractors machines tasks combinations sized  matrix s  plan s  undone  gap %")
    for members in sizes:
        shed = invented(held, members)
        library = replace(
            held.library, implements={**held.library.implements, **{one.implement_id: one for one in shed.machines}}
        )
        begun = time.process_time()
        found = matrix(shed, library, classes, draws=Draws(n=DRAWS), weights=False)
        sized = time.process_time() - begun
        season = season_of(shed, found).season
        begun = time.process_time()
        made = plan(season, gap=GAP)
        planned = time.process_time() - begun
        print(
            f"{members:7d} {len(shed.tractors):8d} {len(shed.machines):8d} {len(season.tasks):5d} "
            f"{len(season.combinations):12d} {found.sized:5d} {sized:9.1f} {planned:7.1f} {made.undone:7d} "
            f"{made.gap * 100:6.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
