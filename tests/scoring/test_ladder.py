"""The ladder of sizes."""

import pytest

from evener.schema.records import Tractor
from evener.scoring.decision.ladder import RUNGS_HP, rung, same_size

HP = 0.74569987158227022


def of(hp):
    return Tractor(f"T{hp}", "stock", "a tractor", pto_power_kw=hp * HP)


def test_every_rung_is_its_own_size():
    """A tractor of exactly a rung's power stands on that rung, and no two rungs are one size."""
    assert [rung(hp * HP) for hp in RUNGS_HP] == list(range(len(RUNGS_HP)))
    assert not any(same_size(of(a), of(b)) for a in RUNGS_HP for b in RUNGS_HP if a != b)


@pytest.mark.parametrize(("one", "other", "same"), [(75, 76, True), (62, 68, True), (56, 68, False), (300, 400, False)])
def test_two_tractors_are_of_one_size_on_one_rung_and_close(one, other, same):
    """On one rung and within 12 % of each other two tractors are one size, whatever the order."""
    assert same_size(of(one), of(other)) is same
    assert same_size(of(other), of(one)) is same


def test_unknown_power_is_no_size():
    """A tractor of unknown power, or none at all, is of no one's size."""
    assert not same_size(Tractor("T", "stock", "a tractor"), of(50))
    assert not same_size(None, of(50))
