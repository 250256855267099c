"""docs/accuracy.md: it shows what was kept, and what was kept is what comes out."""

import dataclasses
from pathlib import Path

import pytest

import evener
from experiments import accuracy
from experiments.casebook.__main__ import run
from experiments.casebook.cases import TELLINGS, cases
from experiments.casebook.causes import causes
from experiments.casebook.judging import judge, kept
from experiments.decision_world.__main__ import TOLD, USUAL
from experiments.decision_world.by_tool import Adviser
from experiments.decision_world.reckoning import kept_picks
from experiments.decision_world.truths import population

ROOT = Path(__file__).resolve().parents[2]
AGAIN = "run: python -m experiments.casebook --keep; python -m experiments.accuracy"
WORLD_AGAIN = "run: python -m experiments.decision_world --keep; python -m experiments.accuracy"
SOME = ("RC-5ft", "RB-4x5", "LO-pallet-1t", "WF-20ac-a")
SEED = 2026


def test_the_page_shows_what_was_kept():
    """The page is written from the results that are kept, and the README has its sentence."""
    assert (ROOT / "docs" / "accuracy.md").read_text(encoding="utf-8") == accuracy.page(), AGAIN
    readme = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    assert accuracy.sentence() in readme, f"the README is to say: {accuracy.sentence()}"


def test_every_case_is_kept_and_every_miss_has_its_cause():
    """Both sheets of each case have a kept result, and just those that are missed have a cause."""
    assert [(one.case_id, one.telling) for one in kept()] == [(c.case_id, each) for c in cases() for each in TELLINGS]
    missed = {(one.case_id, one.telling): one.verdict for one in kept() if one.verdict != "met"}
    assert {sheet: verdict for sheet, (verdict, _) in causes().items()} == missed
    assert all(cause for _, cause in causes().values())


def same(again, before):
    """Assert that sheets come out as before: the same picks and verdicts, and as much asked."""
    assert [without_asked(one) for one in again] == [without_asked(one) for one in before], AGAIN
    asked = [[one.asked_hp or 0.0 for one in some] for some in (again, before)]
    assert asked[0] == pytest.approx(asked[1], abs=0.2), AGAIN


def without_asked(one):
    return dataclasses.replace(one, asked_hp=None, pick_hp=None)


@pytest.mark.ci
def test_some_cases_come_out_as_they_were_kept(library_store):
    """A few cases, run again, ask and pick what is kept of them."""
    store = evener.open(library_store)
    again = [judge(store, case, telling) for case in cases() if case.case_id in SOME for telling in TELLINGS]
    same(again, [one for one in kept() if one.case_id in SOME])


@pytest.mark.ci
def test_all_cases_come_out_as_they_were_kept(library_store):
    """Every case, run again, asks and picks what is kept of it."""
    same(run(list(cases()), store=library_store), kept())


@pytest.mark.ci
def test_some_customers_of_the_world_are_sold_what_was_kept(library_store, tmp_path):
    """The first customers of the decision world, run again, get the picks that are kept."""
    adviser = Adviser(evener.open(library_store), tmp_path)
    again = []
    for customer, truth in population(1 + max(number for number, _, _ in kept_picks()), SEED):
        for rule, pick in ((USUAL, adviser.on_said(customer)), (TOLD, adviser.on_told(customer, truth))):
            again.append((customer.number, rule, pick.tractor_id if pick else ""))
    assert again == kept_picks(), WORLD_AGAIN
