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


@pytest.fixture(scope="module")
def outcomes(library_store, tmp_path_factory):
    """What became of every list, by its file."""
    folder = tmp_path_factory.mktemp("lists")
    cases = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in LISTS}
    return {name: (case, *outcome(case, library_store, folder)) for name, case in cases.items()}


@pytest.mark.parametrize("name", [path.stem for path in LISTS])
def test_no_value_is_wrong(outcomes, name):
    """Whatever a list is like, no value and no record is loaded that it does not state."""
    _, _, _, wrong = outcomes[name]
    assert wrong == []


@pytest.mark.parametrize("name", [path.stem for path in LISTS])
def test_a_list_gives_its_records_or_asks(outcomes, name):
    """Every record and value that a list states is loaded at the first run, with no mapping; else it asks once."""
    case, reports, lacking, _ = outcomes[name]
    assert lacking == [] or any(finding.id in case["asks"] for report in reports for finding in report.findings)
    if not case["asks"]:
        assert lacking == []


def test_most_lists_go_in_at_once(outcomes):
    """At least nine lists in ten are read whole at the first run."""
    whole = [name for name, (_, _, lacking, wrong) in outcomes.items() if not lacking and not wrong]
    assert len(outcomes) >= 40
    assert len(whole) >= LEAST_AT_FIRST * len(outcomes), sorted(outcomes.keys() - set(whole))
