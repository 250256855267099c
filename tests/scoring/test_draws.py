"""The shared draws."""

import numpy as np
import pytest

from evener.schema.records import Quantity
from evener.scoring.core.draws import Draws, quantile, share


def test_every_stratum_is_drawn_once():
    """A uniform draw hits each of its strata exactly once, so that its mean is its middle."""
    drawn = Draws().uniform("a", 2.0, 4.0)
    strata = np.floor((drawn - 2.0) / 2.0 * drawn.size).astype(int)
    assert sorted(strata) == list(range(drawn.size))


def test_a_key_is_drawn_alike_wherever_it_is_asked():
    """The order in which things are drawn changes nothing."""
    one, other = Draws(), Draws()
    other.uniform("first")
    assert np.array_equal(one.uniform("second"), other.uniform("second"))


def test_two_keys_are_not_tied():
    """Different keys are drawn independently: no more correlated than chance makes 4096 pairs."""
    draws = Draws()
    keys = [draws.uniform(f"key {i}") for i in range(30)]
    worst = max(abs(np.corrcoef(a, b)[0, 1]) for i, a in enumerate(keys) for b in keys[:i])
    assert worst < 5 / np.sqrt(draws.n)


def test_normal_draws_follow_the_normal_distribution():
    """Normal draws have the quantiles of the normal table (0.8413 at one sd, 0.9772 at two), cut at three."""
    z = Draws().normal("z")
    assert share(z <= 1.0) == pytest.approx(0.8413, abs=3e-4)
    assert share(z <= 2.0) == pytest.approx(0.9772, abs=3e-4)
    assert np.abs(z).max() == 3.0


def test_a_published_range_is_two_standard_deviations():
    """A value printed with +-30 % is drawn with a standard deviation of 15 %."""
    drawn = Draws().published("b", 10.0, 30.0)
    assert drawn.std() == pytest.approx(1.5, rel=0.01)


def test_a_range_is_uniform_and_an_unknown_is_refused():
    """A customer's range is uniform between its ends; an unknown has no draw without a prior."""
    drawn = Draws().quantity("c", Quantity(1.0, 3.0, "range"))
    assert (drawn.min() > 1.0, drawn.max() < 3.0) == (True, True)
    with pytest.raises(ValueError, match="give it a prior"):
        Draws().quantity("c", Quantity(None, None, "unknown"))


def test_one_draw_is_the_middle_case():
    """A set of one draw has every input at its middle, so that steps can be redone by hand."""
    middle = Draws(n=1)
    assert middle.uniform("a", 2.0, 4.0) == [3.0]
    assert middle.normal("b", 5.0, 2.0) == [5.0]


def test_quantile_says_what_share_is_met():
    """quantile(v, p) <= x exactly when a share p of the draws is at most x."""
    values = Draws().uniform("d")
    for p in (0.1, 0.5, 0.9, 1.0):
        assert share(values <= quantile(values, p)) >= p
        assert share(values < quantile(values, p)) < p
