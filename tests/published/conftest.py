"""Printed examples as the tests see them: inputs in the source's units, answers with the exactness of their print."""

from __future__ import annotations

import csv
import json
from importlib import resources
from pathlib import Path

import pint
import pytest

DATA = Path(__file__).parent / "data"
UNITS = pint.UnitRegistry()


def converted(value, unit, wanted):
    """Convert a number between units, by pint's factors and not by our own."""
    return UNITS.Quantity(value, unit).to(wanted).magnitude if unit != wanted else value


class Case:
    """One printed example of the data files.

    `outside_only` leaves out what is only recomputed here, so that nothing but print can make the test fail.
    """

    def __init__(self, entry, *, outside_only=False):
        self.entry = entry
        self.outside_only = outside_only
        self.outstanding = set(entry["outputs"])

    def __getitem__(self, name):
        """Return an input as printed."""
        return self.entry["inputs"][name]

    def si(self, name, unit, wanted):
        """Return an input, printed in `unit`, in the unit a formula takes."""
        return converted(self[name], unit, wanted)

    def printed(self, name):
        """Return a printed answer for the test to compare itself."""
        self.outstanding.discard(name)
        return self.entry["outputs"][name]

    def expect(self, name, value, unit="", wanted="", *, within=None):
        """Hold a result in `unit` against the answer printed in `wanted`, to the entry's tolerance."""
        tolerance = self.entry["tolerance"]
        if within is None:
            within = tolerance[name] if isinstance(tolerance, dict) else tolerance
        result = converted(value, unit, wanted)
        assert result == pytest.approx(self.printed(name), abs=within + 1e-9), f"{self.entry['id']}: {name}"

    def by_hand(self, value, unit, wanted, *, hand):
        """Hold a result against arithmetic done here: the source's answer is not visible."""
        if not self.outside_only:
            assert converted(value, unit, wanted) == pytest.approx(hand, rel=1e-4), self.entry["id"]

    def waive(self, name, because):
        """Leave a printed answer unchecked, for a reason."""
        assert because
        self.outstanding.discard(name)


def entries():
    """All printed examples by id."""
    files = (DATA / "published.json", DATA / "printed_beside_tables.json")
    return {entry["id"]: entry for file in files for entry in json.loads(file.read_text(encoding="utf-8"))}


@pytest.fixture(scope="session")
def published():
    """All printed examples by id."""
    return entries()


@pytest.fixture
def case_for(published):
    """Open a printed example by id, for tests that run over many."""
    return lambda entry_id: Case(published[entry_id], outside_only=True)


@pytest.fixture(scope="session")
def table():
    """Read a reference table of the package as rows; numbers stay text."""

    def rows(name):
        text = (resources.files("evener.schema") / "reference" / f"{name}.csv").read_text(encoding="utf-8")
        return list(csv.DictReader(text.splitlines()))

    return rows


@pytest.fixture
def convert():
    """Convert a number between units."""
    return converted


@pytest.fixture
def case(request, published):
    """Open the printed example a test is named by; at its end every printed answer must have been looked at."""
    entry_id = request.node.originalname.removeprefix("test_").replace("_", "-").upper()
    one = Case(published[entry_id])
    yield one
    assert not one.outstanding, f"{entry_id}: printed and not checked: {', '.join(sorted(one.outstanding))}"
