"""Splitting a common cost, against games whose split is known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evener.scoring.shed.shapley import exact, sampled, split


def airport(needs):
    """Cost of serving some is the dearest need among them."""
    return lambda some: max((needs[one] for one in some), default=0.0)


def by_steps(needs):
    """The split of Littlechild and Owen (1973): each step of cost is borne alike by all who need at least that much."""
    order = sorted(range(len(needs)), key=lambda one: needs[one])
    shares, before, paid = [0.0] * len(needs), 0.0, 0.0
    for place, one in enumerate(order):
        paid += (needs[one] - before) / (len(needs) - place)
        shares[one], before = paid, needs[one]
    return shares


@given(st.lists(st.floats(0, 100), min_size=1, max_size=6))
def test_steps_of_cost_are_borne_by_those_who_need_them(needs):
    """Where the dearest need decides, the exact split is that of Littlechild and Owen's closed form."""
    assert exact(len(needs), airport(needs)).shares == pytest.approx(by_steps(needs), abs=1e-9)


def test_two_right_gloves_and_one_left():
    """A pair is worth one: the owner of the one left glove has two thirds, each right glove a sixth."""
    pairs = exact(3, lambda some: float(min(len(some & {0}), len(some & {1, 2}))))
    assert pairs.shares == pytest.approx((2 / 3, 1 / 6, 1 / 6))


def test_many_members_are_sampled_with_an_error():
    """Beyond ten members orders are drawn: shares add up, lie within five errors, and are the same every time."""
    needs = [float(one) for one in range(1, 15)]
    drawn = split(len(needs), airport(needs))
    assert sum(drawn.shares) == pytest.approx(max(needs))
    assert all(error > 0 for error in drawn.errors)
    for share, known, error in zip(drawn.shares, by_steps(needs), drawn.errors, strict=True):
        assert abs(share - known) <= 5 * error + 1e-12
    assert drawn == sampled(len(needs), airport(needs))
