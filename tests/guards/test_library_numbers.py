"""Numbers and words that the library's calls take are held to what can be, as those of the command line are."""

import math
from pathlib import Path

import pytest

import evener
from evener.enquiry import accepted
from evener.schema import fields
from evener.schema.records import Tractor

JOB = Path(__file__).resolve().parents[2] / "demo_db" / "jobs" / "ridge.toml"
NAMED = {"tractor_id": "X", "kind": "stock", "label": "x", "source_id": "given", "status": "stated"}
CAPACITIES = [
    one.name
    for one in fields.of("tractor").values()
    if one.kind == "number" and one.low is not None and one.low > 0 and one.name in Tractor.__dataclass_fields__
]


@pytest.mark.parametrize("name", CAPACITIES)
@pytest.mark.parametrize("value", [0, -1, math.nan, math.inf, -math.inf, "50", True, 1e300])
def test_a_capacity_that_cannot_be_is_refused_by_its_name(name, value):
    """Zero, less, NaN, infinity, text, a truth value and the absurd are no capacity, and the field is named."""
    stated = {"engine_power_kw": 50.0, "pto_power_kw": 40.0, "mass_kg": 3000.0, name: value}
    with pytest.raises(evener.RecordRefused, match=name):
        accepted.record(Tractor(**NAMED, **stated))


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda store: store.rank(JOB, top=0), "top"),
        (lambda store: store.rank(JOB, top=math.nan), "top"),
        (lambda store: store.rank(JOB, among="horse"), "among"),
        (lambda store: store.ask(JOB, seeds=-1), "seeds"),
        (lambda store: store.ask(JOB, units="furlongs"), "units"),
        (lambda store: store.query("SELECT 1", most=0), "rows"),
        (lambda store: store.query("SELECT 1", seconds=math.nan), "seconds"),
        (lambda store: store.query("SELECT 1", seconds=-1), "seconds"),
    ],
)
def test_an_argument_out_of_its_bounds_is_refused_by_its_name(library_store, call, name):
    """Counts, times, kinds and units that cannot be are wrong use, and the text begins with the argument."""
    with pytest.raises(evener.WrongUse, match=f"^{name}"):
        call(evener.open(library_store))
