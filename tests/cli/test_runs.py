"""`evener runs` as a user runs it."""

import json

import pytest

import evener as evener_library

pytestmark = pytest.mark.ci


@pytest.fixture(scope="module")
def small_and_large(library_store):
    """What a small and a large tractor run on the same ground."""
    store = evener_library.open(library_store)
    return store.runs("compact-25-4wd"), store.runs("utility-92-4wd")


@pytest.mark.ci
def test_json_is_valid_and_what_the_python_call_returns(evener, library_store, answer_schema):
    """What is printed as JSON is the dictionary of the call, and valid against the schema that ships."""
    printed = json.loads(evener("runs", "utility-40-4wd", "--slope", "8 %", "--format", "json").stdout)
    answer_schema("runs").validate(printed)
    called = evener_library.open(library_store).runs("utility-40-4wd", slope="8 %").to_dict()
    assert printed == json.loads(json.dumps(called))


def test_a_larger_tractor_runs_larger_machines(small_and_large):
    """Where both run a machine of a family by its width, the larger tractor's is as wide or wider."""
    small, large = ({one.family: one for one in each.families} for each in small_and_large)
    compared = 0
    for family in ("rotary_cutter", "rotary_rake", "tedder", "disk_harrow", "chisel_plow", "rotary_tiller"):
        if small[family].size and large[family].size:
            assert large[family].size.middle >= small[family].size.middle, family
            compared += 1
    assert compared >= 3


def test_what_it_does_not_run_says_what_keeps_it_out(small_and_large):
    """A family of which it works none names the axis or the gate that the smallest machine fails."""
    none = [one for one in small_and_large[0].families if one.implement_id is None]
    assert none
    assert all(one.tightest is not None and one.does < 0.7 for one in none)


def test_ground_in_words_nobody_knows_is_refused(evener):
    """A soil that a sheet does not know is one line with what is allowed, and status 2."""
    ran = evener("runs", "utility-40-4wd", "--soil", "cheese")
    assert ran.returncode == 2
    assert "cheese" in ran.stderr


def test_an_unknown_tractor_is_named(evener):
    """An id that no record has is one line with the nearest, and status 2."""
    ran = evener("runs", "utility-40-4wx")
    assert (ran.returncode, "Did you mean utility-40-4wd" in ran.stderr) == (2, True)
