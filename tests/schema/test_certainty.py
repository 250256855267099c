"""How sure a value is: kinds, what may be said of each, and the text that carries them."""

import json

import pytest

from evener.schema import certainty
from evener.schema.certainty import ABOUT, STATED, Certainty
from evener.schema.records import Quantity

KINDS = {
    "mass_kg": ABOUT,
    "pto_power_kw": Certainty("estimated", spread_pct=6.0, basis="0.88 x engine power"),
    "hitch_lift_610_kg": Certainty("range", 1000.0, 1200.0, basis="1000 to 1200 kg"),
    "wheelbase_m": Certainty("estimated", basis="dyno in the yard, +- a few hp"),
}


def test_a_text_carries_every_kind_whole():
    """What is written for a record reads back to the same, and a stated value is not written at all."""
    assert certainty.read(json.loads(certainty.text({**KINDS, "price": STATED}))) == KINDS
    assert certainty.text({"price": STATED}) is None


@pytest.mark.parametrize(
    ("words", "spread", "basis"),
    [
        ("0.88 x engine power (UAZ), +-6 %", 6.0, "0.88 x engine power (UAZ)"),
        ("from the engine +-8.5%", 8.5, "from the engine"),
        ("dyno in the yard, +- a few hp", None, "dyno in the yard, +- a few hp"),
        ("+- 3 hp", None, "+- 3 hp"),
        ("a guess, +-400 %", None, "a guess, +-400 %"),
    ],
)
def test_words_for_an_estimate_give_a_spread_only_where_they_end_in_one(words, spread, basis):
    """A per cent at the end is the spread, within reason; anything else stays words."""
    assert certainty.estimated(words) == Certainty("estimated", spread_pct=spread, basis=basis)


def test_about_is_uniform_and_an_estimate_is_not():
    """About and a range have ends to draw between, in record and sheet alike; other values have none."""
    assert ABOUT.span(50.0) == (40.0, 60.0)
    assert Quantity(40.0, 60.0, "about", "about 50 kW").certainty.span(50.0) == (40.0, 60.0)
    assert Quantity(1.0, 4.0, "range").certainty.span(2.5) == (1.0, 4.0)
    assert [one.span(50.0) for one in (STATED, KINDS["pto_power_kw"])] == [None, None]


@pytest.mark.parametrize(
    "parts",
    [
        {"kind": "range", "low": 1.0},
        {"kind": "range", "low": 2.0, "high": 1.0},
        {"kind": "range", "low": 2.0, "high": float("inf")},
        {"kind": "about"},
        {"kind": "estimated", "spread_pct": 101.0},
        {"kind": "estimated", "spread_pct": float("nan")},
        {"kind": "estimated", "low": 1.0, "high": 2.0},
        {"kind": "guess"},
    ],
)
def test_numbers_that_do_not_fit_their_kind_are_refused(parts):
    """A certainty whose numbers are missing, out of order or beyond reason is never made."""
    with pytest.raises(ValueError, match=r"."):
        Certainty(**parts)
