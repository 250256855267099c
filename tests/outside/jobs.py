"""A job of one task, written as a sheet and run from there to what is asked and picked."""

import csv
import math
import tomllib
from pathlib import Path

HERE = Path(__file__).resolve().parent
HP = 0.745699872


def written(table):
    """Return the keys of a table as lines of a sheet."""
    return "".join(f"{key} = {value if isinstance(value, int) else repr(value)}\n" for key, value in table.items())


def rows(name, kind):
    """Return the entries of one file of jobs."""
    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))[kind]


def missed(kind):
    """Return the ids of the entries that are known to be missed."""
    with (HERE / "missed.csv").open(encoding="utf-8", newline="") as file:
        return {row["id"]: row["cause"] for row in csv.DictReader(file) if row["kind"] == kind}


def ranked(store, entry, folder):
    """Return the ranking of the job that an entry describes."""
    sheet = folder / f"{entry['id']}.toml"
    place, task = written(entry["place"]), written(entry["task"])
    sheet.write_text(f"[place]\nname = 'a place'\n{place}\n[[task]]\nname = 'job'\n{task}", encoding="utf-8")
    return store.rank(sheet, top=100)


def picked_hp(ranking):
    """Return the power at the PTO of the pick [hp]; 0 where there is none."""
    powers = [one.pto_power for one in ranking.tractors if one.tractor_id == ranking.pick]
    return round(powers[0] / HP, 1) if powers else 0.0


def asked_hp(ranking, near_hp):
    """Return the middle of what is asked at the PTO of the class nearest to a power [hp]."""
    nearest = min(ranking.tractors, key=lambda one: abs(math.log((one.pto_power or 1) / HP / near_hp)))
    return max(axis.demand.median for task in nearest.tasks for axis in task.axes if axis.axis == "pto_power") / HP
