"""Peers: what records of the same kind and size have, and rows far from it."""

import numpy as np
import pytest

from evener.ingest.rows.checks import peers
from evener.ingest.text.held_values import Words
from evener.schema import fields, units
from evener.schema.store import connection as store


@pytest.fixture(scope="module")
def known(library_store):
    """Peers of the shipped library."""
    with store.open_read(library_store) as con:
        return peers.peers_in(con)


def found(known, record, **columns):
    """What is said about one row."""
    held = {
        name: Words.of([value]) if isinstance(value, str) else np.array([value], float)
        for name, value in columns.items()
    }
    return [finding for _, finding in known.check(record, held, [7], np.ones(1, bool))]


HP, LB = 0.74569987158227022, 0.45359237


def test_the_library_is_not_far_from_itself(known, library_store):
    """No generic class and no generic implement is far from its peers."""
    with store.open_read(library_store) as con:
        for record in ("tractor", "implement"):
            rows = store.read_rows(con, record)
            held = {
                name: np.array([np.nan if row[name] is None else row[name] for row in rows], float)
                if one.kind in ("number", "integer")
                else Words.of([row[name] if isinstance(row[name], str) else None for row in rows])
                for name, one in fields.of(record).items()
            }
            far = list(known.check(record, held, range(len(rows)), np.ones(len(rows), bool)))
            assert len(far) <= len(rows) // 100, [finding.message for _, finding in far]


def test_kilograms_under_a_heading_of_pounds_are_suspected(known):
    """A 60 hp tractor of 2,700 "lb" is far from its peers, and the finding names the slip."""
    (finding,) = found(known, "tractor", engine_power_kw=60 * HP, mass_kg=2700 * LB)
    assert (finding.id, finding.row, finding.column, finding.refuses) == ("far-from-peers", 7, "mass_kg", False)
    assert "were kg written under a heading of lb?" in finding.message
    assert found(known, "tractor", engine_power_kw=60 * HP, mass_kg=5900 * LB) == []


def test_a_width_beyond_the_family_is_said(known):
    """A rotary cutter 40 ft wide is far from its family; a field cultivator is not."""
    assert (
        "records of rotary_cutter" in found(known, "implement", family="rotary_cutter", working_width_m=20.0)[0].message
    )
    assert found(known, "implement", family="field_cultivator", working_width_m=12.2) == []


def test_a_row_is_blamed_once(known):
    """One slip of the engine power is one finding, however many fields it sets against it."""
    far = found(known, "tractor", engine_power_kw=200.0, mass_kg=1000.0, wheelbase_m=1.4, loader_lift_kg=100.0)
    assert len(far) == 1


def test_sizes_beyond_the_peers_are_not_judged(known):
    """Nothing is said about sizes for which there are no peers, nor where the size is not known."""
    assert found(known, "tractor", engine_power_kw=650.0, mass_kg=4000.0) == []
    assert found(known, "tractor", engine_power_kw=np.nan, mass_kg=200.0) == []


def test_likenesses_name_fields_and_bounds():
    """Every line is about fields of its record and reaches from below one to above it."""
    for one in peers.likenesses():
        assert {one.name, one.by} <= {*fields.of(one.record), ""}
        assert one.low < 1 < one.high
        assert units.known(fields.of(one.record)[one.name].unit)
