"""Lists as dealers and members send them: each gives exactly the records that stand beside it, or asks.

`tests/data/lists` holds each list with a JSON of the records it must give, written before the code that reads it. All
are invented. A value that a record does not state there may not be stated in the store.
"""

import json
import math
import shutil
from pathlib import Path

import pytest

from evener.ingest.store import lists
from evener.schema import fields
from evener.schema.store import connection as store

FOLDER = Path(__file__).parent.parent / "data" / "lists"
LISTS = sorted(FOLDER.glob("*.json"))
PLACED = tuple(enumerate(LISTS))  # every fourth at each change, all of them in the CI
LEAST_AT_FIRST = 0.9
# Entered by hand from the definitions of the units, apart from the tables of the tool.
SI = {
    "kW": 1.0,
    "hp": 0.745699871582270,
    "PS": 0.73549875,
    "lb": 0.45359237,
    "in": 0.0254,
    "ft": 0.3048,
    "gpm": 3.785411784,
    "gal": 3.785411784,
}
KEPT = ("source_id", "status", "batch_id", "file_row", "estimated", "kind", "owner")


def settled(record, name, value):
    """What a text of the JSON stands for in the store's units."""
    if not isinstance(value, str) or fields.of(record)[name].kind != "number":
        return value
    number, _, unit = value.removeprefix("about ").rpartition(" ")
    try:
        return float(number) * SI[unit]
    except (ValueError, KeyError):
        return value


def same(one, other):
    if isinstance(one, int | float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=1e-9)
    return one == other


def stated(row):
    """What a record of the store states, without what the tool keeps or works out itself."""
    sure = row.get("estimated") or {}
    worked_out = {name for name, certainty in sure.items() if certainty.get("kind") == "estimated"}
    return {
        name: value
        for name, value in row.items()
        if value is not None and value != [] and name not in KEPT and name not in worked_out
    }


def outcome(case, library_store, folder):
    """Load a list into a store of its own; return its report, the records that lack, and the values that are wrong."""
    path = Path(shutil.copy(library_store, folder / f"{case['file']}.duckdb"))
    reports = lists.ingest_list(path, FOLDER / case["file"], **case["options"])
    batch = {report.batch_id for report in reports}
    held = {}
    with store.open_read(path) as con:
        for record in ("tractor", "implement"):
            key = fields.keys(record)[0]
            held |= {
                (record, row[key]): stated(row) for row in store.read_rows(con, record) if row["batch_id"] in batch
            }
    wanted = {
        (one["record"], one[fields.keys(one["record"])[0]]): {
            name: settled(one["record"], name, value) for name, value in one.items() if name not in ("record", "owner")
        }
        for one in case["records"]
    }
    wrong = [(key, "is no record") for key in held.keys() - wanted.keys()]
    lacking = [(key, "is not loaded") for key in wanted.keys() - held.keys()]
    for key in held.keys() & wanted.keys():
        for name in sorted(held[key].keys() | wanted[key].keys()):
            have, want = held[key].get(name), wanted[key].get(name)
            if have is not None and not same(have, want):
                wrong.append((key, f"{name} is {have!r} and should be {want!r}"))
            elif have is None and want is not None:
                lacking.append((key, f"{name} is not read"))
    return reports, lacking, wrong


@pytest.mark.parametrize(
    "path", [pytest.param(path, id=path.stem, marks=() if place % 4 == 0 else pytest.mark.ci) for place, path in PLACED]
)
def test_a_list_gives_its_records_or_asks(path, library_store, tmp_path):
    """No value or record is loaded that a list does not state; it is read whole with no mapping, or asks once."""
    case = json.loads(path.read_text(encoding="utf-8"))
    reports, lacking, wrong = outcome(case, library_store, tmp_path)
    assert wrong == []
    if not case["asks"]:
        assert lacking == []
    assert not lacking or any(finding.id in case["asks"] for report in reports for finding in report.findings)


@pytest.mark.ci
def test_most_lists_go_in_at_once(library_store, tmp_path):
    """At least nine lists in ten are read whole at the first run."""
    cases = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in LISTS}
    lack = [name for name, case in cases.items() if case["asks"] and outcome(case, library_store, tmp_path)[1]]
    assert len(LISTS) >= 40
    assert len(lack) <= (1 - LEAST_AT_FIRST) * len(LISTS), lack
