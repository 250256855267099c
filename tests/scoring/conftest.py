"""Short ways to size one task in a test."""

from __future__ import annotations

import pytest

from evener.schema.records import JobSheet, Place, Quantity
from evener.scoring.audit.auditing import audit
from evener.scoring.core.draws import Draws
from evener.scoring.decision.sizing import size_job


def exact(value):
    """Return a number as a customer gives it exactly."""
    return Quantity(value, value, "exact", f"{value}")


def between(low, high):
    """Return a range as a customer gives it."""
    return Quantity(low, high, "range", f"{low} to {high}")


@pytest.fixture(scope="session")
def sized(library):
    """Size tasks at a place on few draws; keywords go to the place."""

    def size(*tasks, n=256, **place):
        job = JobSheet(Place("a place", **{"slope": exact(0.0), **place}), tasks)
        return size_job(job, library, Draws(n), traced=True)

    return size


@pytest.fixture(scope="session")
def demand_of(sized):
    """Return one demand of one task."""

    def find(axis, task, **place):
        found = sized(task, **place)
        assert not found.not_sized, found.not_sized
        return next(demand for demand in found.tasks[0].demands if demand.axis == axis)

    return find


@pytest.fixture(scope="session")
def by_id(classes):
    """Return a generic class by its id."""
    return {one.tractor_id: one for one in classes}


@pytest.fixture(scope="session")
def library_report(library):
    """The audit of the shipped library."""
    return audit(library.implements.values(), library.families.values(), library.tables)
