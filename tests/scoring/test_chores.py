"""Whose work nobody is hired for."""

from __future__ import annotations

import pytest

from evener.schema.money import Money
from evener.schema.records import Task
from evener.scoring.money.chores import for_hire
from evener.scoring.money.terms import terms


@pytest.mark.parametrize(
    ("task", "can_be"),
    [
        (Task("bale", "round_baler"), True),
        (Task("bale", "round_baler", hire=False), False),
        (Task("feed", "feed_mixer"), False),
        (Task("feed", "feed_mixer", hire=True), True),
        (Task("muck out", "loader_bucket", times_per_year=365.0), False),
        (Task("sand", "loader_bucket", times_per_year=10.0), True),
    ],
)
def test_the_sheet_goes_first_and_then_what_is_daily(library, task, can_be):
    """Work is for hire as the sheet says; where it says nothing, feeding and what is done daily are not."""
    assert for_hire(task, terms(Money(), library)) is can_be
