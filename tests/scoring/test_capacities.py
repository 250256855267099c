"""What a record's values are worth as draws, by how sure they are."""

import numpy as np
import pytest

from evener.schema.certainty import ABOUT, Certainty, estimated
from evener.schema.records import Tractor
from evener.scoring.core.draws import Draws
from evener.scoring.gives.offer import offer

CLASS = Tractor("C", "class", "a class", pto_power_kw=50.0, spread_pct=15.0)


def drawn(kind="stock", classes=(CLASS,), sure=None):
    """The draws of 40 kW."""
    one = Tractor("T", kind, "a tractor", pto_power_kw=40.0, estimated={"pto_power_kw": sure} if sure else {})
    return offer(one, classes, Draws()).axis("pto_power").draws


def test_about_and_a_range_are_uniform():
    """A value given as about lies anywhere within a fifth of it, and a range between its ends, all as likely."""
    for sure, low, high in ((ABOUT, 32.0, 48.0), (Certainty("range", 38.0, 44.0), 38.0, 44.0)):
        values = drawn(sure=sure)
        assert (values.min(), values.max()) == (pytest.approx(low, rel=1e-3), pytest.approx(high, rel=1e-3))
        assert values.std() == pytest.approx((high - low) / np.sqrt(12), rel=1e-3)


@pytest.mark.parametrize(
    ("sure", "classes", "spread"),
    [
        (estimated("from the engine, +-8 %"), (CLASS,), 8.0),
        (estimated("dyno in the yard, +- a few hp"), (CLASS,), 15.0),
        (estimated("dyno in the yard, +- a few hp"), (), 20.0),
    ],
)
def test_an_estimate_without_a_spread_takes_that_of_its_class(sure, classes, spread):
    """An estimate's own spread counts; without one that of the nearest class, and without a class a fifth."""
    assert drawn(classes=classes, sure=sure).std() == pytest.approx(40.0 * spread / 200, rel=2e-2)


def test_a_stated_value_is_one_number():
    """What a record states without more is the same in every draw."""
    assert np.ptp(drawn()) == 0.0
