"""What a remark says of lending a machine, in the words of members."""

import datetime as dt

import pytest

from evener.schema.lending import limits


@pytest.mark.parametrize(
    ("remark", "rules"),
    [
        ("not in June", [("not_lent", 6, 6)]),
        ("Not lent in June and July", [("not_lent", 6, 6), ("not_lent", 7, 7)]),
        ("not lent from June to August", [("not_lent", 6, 8)]),
        ("not lent", [("not_lent", None, None)]),
        ("with driver only", [("with_driver", None, None)]),
        ("new clutch; with driver only; not in December", [("with_driver", None, None), ("not_lent", 12, 12)]),
        ("nicht im Juni", [("not_lent", 6, 6)]),
        ("nur mit Fahrer", [("with_driver", None, None)]),
        ("pas en août", [("not_lent", 8, 8)]),
        ("no se presta en mayo", [("not_lent", 5, 5)]),
        ("lift is weak, reckon on 1500", []),
        ("not much used since June", []),
        ("may not start in the cold", []),
        ("serviced in June, not leaking", []),
        ("", []),
        (None, []),
    ],
)
def test_limits_are_read_from_a_remark(remark, rules):
    """Months and drivers are limits; any other remark is none."""
    assert [(one.rule, one.first_month, one.last_month) for one in limits(remark)] == rules


def test_the_days_of_a_limit():
    """A limit in months is spans of days within a season, over the turn of the year too; without months it is all."""
    season = dt.date(2026, 5, 20), dt.date(2026, 7, 10)
    (june,) = limits("not in June")
    assert list(june.days(*season)) == [(dt.date(2026, 6, 1), dt.date(2026, 6, 30))]
    (winter,) = limits("not lent from November to February")
    assert list(winter.days(dt.date(2026, 1, 15), dt.date(2026, 12, 31))) == [
        (dt.date(2026, 1, 15), dt.date(2026, 2, 28)),
        (dt.date(2026, 11, 1), dt.date(2026, 12, 31)),
    ]
    (never,) = limits("not lent")
    assert list(never.days(*season)) == [season]
