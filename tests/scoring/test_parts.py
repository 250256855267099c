"""The parts an open answer is split into."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evener.scoring.questions import parts

INCH = parts.scale("m", "us", "max_stem_m")


def test_a_range_is_split_at_numbers_a_tape_shows():
    """Stems of 1 to 3 in are split at quarter inches, and each part has the share of its length."""
    found = parts.spans(0.0254, 0.0762, INCH)
    assert [parts.text(one.low, one.high, INCH) for one in found][:2] == ["1 to 1.25 in", "1.25 to 1.5 in"]
    assert len(found) == 8
    assert [one.share for one in found] == pytest.approx([1 / 8] * 8)


def test_a_slope_is_told_in_per_cent():
    """A slope's parts are round in per cent in either system."""
    for units in ("us", "si"):
        shown = parts.scale("1", units, "slope")
        assert parts.text(0.05, 0.055, shown) == "5 to 5.5 %"


def test_a_count_is_split_at_whole_numbers():
    """One to three layers are one, two and three, with the shares their rounding gives."""
    assert [(one.low, one.high, one.share) for one in parts.counts(1.0, 3.0)] == [
        (1.0, 1.0, 0.25),
        (2.0, 2.0, 0.5),
        (3.0, 3.0, 0.25),
    ]


def test_drawn_values_give_the_shares():
    """Where the answer is worked out from other draws, a part's share is that of the draws in it."""
    values = np.concatenate([np.full(30, 120.0), np.full(10, 480.0)])
    found = parts.spans(100.0, 500.0, parts.scale("kg", "si", "mass_kg"), values)
    assert [(one.low, one.share) for one in found] == [(100.0, 0.75), (450.0, 0.25)]


@given(
    low=st.floats(1e-3, 1e4),
    width=st.floats(1e-3, 1e3),
    unit=st.sampled_from([("m", "max_stem_m"), ("m", "width"), ("kg", "mass_kg"), ("1", "slope")]),
    units=st.sampled_from(["us", "si"]),
)
def test_parts_cover_the_range_and_their_shares_sum_to_one(low, width, unit, units):
    """Whatever the range, its parts join up from end to end and the shares sum to one."""
    found = parts.spans(low, low + width, parts.scale(unit[0], units, unit[1]))
    assert found[0].low == low
    assert found[-1].high == low + width
    assert all(one.high == other.low for one, other in pairwise(found))
    assert sum(one.share for one in found) == pytest.approx(1.0)
    assert 1 <= len(found) <= 17
