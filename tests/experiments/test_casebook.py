"""The casebook: its cases are whole, and verdicts follow its own rules."""

import dataclasses

import pytest

from evener import open as open_store
from experiments.casebook.cases import TELLINGS, cases, ladder, rung
from experiments.casebook.judging import judge, tally, verdict

GRADES = {"A", "B", "C", "-"}


def case(case_id):
    return next(one for one in cases() if one.case_id == case_id)


def test_every_case_has_two_sheets_that_can_be_sized_a_band_and_a_source(library_store):
    """Each case has both sheets, which read without an error, a band, a source, a grade and a status."""
    store = open_store(library_store)
    assert len({one.case_id for one in cases()}) == len(cases()) == 61
    for one in cases():
        assert 0 < one.low_hp < one.high_hp
        assert one.source
        assert one.grade in GRADES
        assert one.status in {"verified", "practice", "memory"}
        for telling in TELLINGS:
            assert store.read_job(one.sheet(telling)).tasks, one.case_id


@pytest.mark.parametrize(
    ("pick_hp", "expected"),
    [
        (80.0, "met"),
        (76.5, "met"),
        (125.0, "met"),
        (74.0, "small"),
        (62.0, "short"),
        (150.0, "large"),
        (None, "no plan"),
    ],
)
def test_a_pick_in_the_band_or_the_next_size_above_meets(pick_hp, expected):
    """In a band of 80 to 115 hp, 5 % under its bottom and the next size above its top are met, and no other pick is."""
    band = dataclasses.replace(case("RB-highcap"), low_hp=80.0, high_hp=115.0)
    assert verdict(band, pick_hp) == expected


def test_sizes_a_few_per_cent_apart_are_one_rung():
    """75 and 76, and 280 and 300, are one rung."""
    assert rung(75) == rung(76)
    assert rung(280) == rung(300)
    assert list(ladder()) == sorted(set(ladder()))


@pytest.mark.ci
def test_a_case_is_judged_by_what_is_asked_in_the_middle_of_its_band(library_store):
    """A finish mower of 5 ft, told all, asks what its case says, and the same sheet judged by a far band does not."""
    store, mower = open_store(library_store), case("FI-5ft")
    found = judge(store, mower, "told")
    assert found.asked_met(mower)
    far = dataclasses.replace(mower, low_hp=140.0, high_hp=180.0)
    again = judge(store, far, "told")
    assert not again.asked_met(far)
    assert again.verdict == "short"
    assert tally([far], [again]).short == 1.0


def test_what_is_added_to_the_policy_is_read(library_store):
    """A sheet can be judged under another policy, and one that cannot be read is no plan."""
    mower = case("FI-5ft")
    assert judge(open_store(library_store), mower, "said", 'draws = "many"').verdict == "no plan"
