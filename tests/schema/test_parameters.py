"""Double entry of the parameter tables: each number stands a second time in data/parameters.csv.

The second entry is no evidence: it was made from the tables. It catches a slip of the hand in one of the two; whether a
number is right is for the printed examples under tests/published to say. Who corrects a parameter corrects both.
"""

from __future__ import annotations

import csv
from importlib import resources
from pathlib import Path

import pytest

SECOND = list(csv.DictReader((Path(__file__).parent / "data" / "parameters.csv").read_text("utf-8").splitlines()))
TABLES = sorted({entry["table"] for entry in SECOND})
WORDS = {"note", "source_id", "status"}


def numbers(table):
    """Return every number of a shipped table by its row, counted from 1, and its column."""
    text = (resources.files("evener.schema") / "reference" / f"{table}.csv").read_text(encoding="utf-8")
    found = {}
    for place, row in enumerate(csv.DictReader(text.splitlines()), 1):
        for column, cell in row.items():
            if column not in WORDS:
                try:
                    found[place, column] = float(cell)
                except ValueError:
                    continue
    return found


@pytest.mark.parametrize("table", TABLES)
def test_every_number_stands_twice(table):
    """A number of a table differs from its second entry nowhere, and none stands in one of the two only."""
    second = {
        (int(entry["row"]), entry["column"]): float(entry["value"]) for entry in SECOND if entry["table"] == table
    }
    assert numbers(table) == second


def test_no_table_of_the_sizing_is_left_out():
    """Draft, shaft power, ratios, soils, towing, allowances, priors, families and the rest all stand twice."""
    assert len(TABLES) == 22
    assert len(SECOND) > 1400
