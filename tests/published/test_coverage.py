"""Which printed example holds which formula: the method table's claim is shown to be true, both ways."""

from __future__ import annotations

import importlib
import inspect
import runpy
from functools import wraps
from pathlib import Path

import pytest

from evener.scoring.mechanics import methods

FILES = sorted(Path(__file__).parent.glob("test_*_examples.py"))
MEMORY = "memory"


def examples():
    """Return the test of each entry, by entry id."""
    found = {}
    for file in FILES:
        for name, function in runpy.run_path(str(file)).items():
            if name.startswith("test_"):
                found[name.removeprefix("test_").replace("_", "-").upper()] = function
    return found


EXAMPLES = examples()


def scaled(result, factor):
    """Return a formula's result, off by a factor."""
    if isinstance(result, tuple):
        return type(result)(*(each * factor for each in result))
    return result * factor


@pytest.fixture
def rehearse(case_for, convert, table, monkeypatch):
    """Run an entry's test with formulas replaced, by formula id, and say whether it passes."""

    def passes(entry_id, instead):
        example = EXAMPLES[entry_id]
        given = {"case": case_for(entry_id), "convert": convert, "table": table}
        with monkeypatch.context() as patch:
            for formula_id, function in instead.items():
                known = methods.METHODS[formula_id].function
                patch.setattr(importlib.import_module(known.__module__), known.__name__, function)
            try:
                example(**{name: given[name] for name in inspect.signature(example).parameters})
            except (AssertionError, ValueError):
                return False
        return True

    return passes


def noting(formula_id, function, calls):
    """Return the formula, writing down that it was called."""

    @wraps(function)
    def noted(*args, **kwargs):
        calls.add(formula_id)
        return function(*args, **kwargs)

    return noted


def off_by(function, factor):
    """Return the formula, off by a factor."""
    return wraps(function)(lambda *args, **kwargs: scaled(function(*args, **kwargs), factor))


def test_every_printed_example_has_its_test(published):
    """Each entry of the data files has one test named by it, and each test an entry and a source in its docstring."""
    assert set(EXAMPLES) == set(published)
    assert all(inspect.getdoc(example) for example in EXAMPLES.values())


def test_an_example_without_a_visible_answer_says_so(published):
    """Entries whose answer was not seen have no outputs and are marked, so that they never pass for a check."""
    for entry_id, entry in published.items():
        assert (entry["evidence"] == "inputs only") == (not entry["outputs"]), entry_id
        assert entry["status"] in {"published", MEMORY}
        assert entry["source"]
        assert entry["seen"] in {"publisher's copy", "second-hand copy", "not seen"}


def test_a_formula_is_checked_by_exactly_the_examples_it_names(published, rehearse):
    """A formula 10 % too high or too low fails the seen, printed examples in its `checks`, and no others."""
    catalogue = methods.load_all()
    held = set()
    for entry_id, entry in published.items():
        if entry["status"] == MEMORY:
            continue
        called = set()
        watched = {name: noting(name, method.function, called) for name, method in catalogue.items()}
        assert rehearse(entry_id, watched), f"{entry_id} fails with every formula right"
        for formula_id in called:
            function = catalogue[formula_id].function
            if not all(rehearse(entry_id, {formula_id: off_by(function, factor)}) for factor in (0.9, 1.1)):
                held.add((formula_id, entry_id))
    named = {(method.formula_id, entry_id) for method in catalogue.values() for entry_id in method.checks}
    assert named - held == set(), "named as a check and does not notice"
    assert held - named == set(), "notices and is not named as a check"
