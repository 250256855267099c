"""The last gate before the store: what the checks let through by mistake, the record's model refuses."""

import numpy as np
import pandera.errors
import pytest

from evener.ingest.files import readers
from evener.ingest.rows.known import known_in
from evener.ingest.rows.preparing import prepare
from evener.ingest.store import loading
from evener.ingest.text.held_values import Words
from evener.schema.store import connection as store


@pytest.fixture
def rows(library_store):
    """Five hundred sound rows."""
    with store.open_read(library_store) as con:
        known = known_in(con)
    lines = [f"S{place},Utility,4wd,73,6950,{place % 3}" for place in range(500)]
    text = "\n".join(["id,label,drive,engine (hp),weight (lb),remotes", *lines])
    made = prepare(readers.read_bytes(text.encode(), "list.csv"), "tractor", known, kind="stock")
    assert made.findings == []
    return made


def test_sound_rows_pass(rows):
    """Rows that the checks let through pass the model."""
    loading.check_model(rows, "B1")


@pytest.mark.parametrize("place", [0, 250, 499])
@pytest.mark.parametrize(("name", "value"), [("mass_kg", 1e9), ("mass_kg", -1.0), ("rear_remotes", 99.0)])
def test_a_value_out_of_bounds_anywhere_is_refused(rows, name, value, place):
    """One value beyond its bounds, wherever it stands, stops the whole file."""
    values = rows.values[name].copy()
    values[place] = value
    rows.values[name] = values
    with pytest.raises(pandera.errors.SchemaError):
        loading.check_model(rows, "B1")


@pytest.mark.parametrize(("name", "value"), [("drive", "6wd"), ("label", None), ("kind", None)])
def test_a_strange_word_or_a_blank_anywhere_is_refused(rows, name, value):
    """One word that is no choice, or one blank where something must stand, stops the whole file."""
    held = list(rows.values[name])
    held[321] = value
    rows.values[name] = Words.of(held)
    with pytest.raises(pandera.errors.SchemaError):
        loading.check_model(rows, "B1")


def test_a_refused_row_is_not_looked_at(rows):
    """Only rows that go in are held to the model."""
    values = rows.values["mass_kg"].copy()
    values[7] = np.inf
    rows.values["mass_kg"] = values
    rows.refused[7] = []
    loading.check_model(rows, "B1")
