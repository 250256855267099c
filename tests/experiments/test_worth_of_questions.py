"""The experiment of docs/questions.md, on fewer customers."""

import importlib.util
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "experiments" / "worth_of_questions.py"


@pytest.fixture(scope="module")
def experiment():
    """The experiment's script as a module."""
    spec = importlib.util.spec_from_file_location("worth_of_questions", SCRIPT)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def tallies(experiment, library, classes):
    """How each way of sizing did over two hundred customers of the plain world."""
    found, counted = experiment.tally(200, "plain", library, classes)
    assert counted > 160
    return {one.name: one for one in found}


@pytest.mark.slow
def test_ranking_undersizes_no_more_often_than_it_says(tallies):
    """Sized by rank, at most one customer in ten gets too small a tractor, give or take what two hundred can show."""
    assert tallies["rank"].under <= 0.10 + 0.05


@pytest.mark.slow
def test_brochure_and_rating_undersize_most_customers(tallies):
    """In this world engine power and the bare rating undersize more than half of the customers."""
    assert tallies["brochure engine power"].under > 0.5
    assert tallies["implement's rating"].under > 0.5


@pytest.mark.slow
def test_the_questions_of_ask_beat_as_many_at_random(tallies):
    """After as many questions, those of ask leave less regret than those in random order, and less than none."""
    for number in (1, 2, 3):
        assert tallies[f"rank + {number} ask"].regret < tallies[f"rank + {number} random"].regret
    assert tallies["rank + 3 ask"].regret < 0.75 * tallies["rank"].regret


@pytest.mark.slow
def test_asking_helps_where_customers_say_too_little(experiment, library, classes):
    """In the hopeful world three questions leave fewer customers undersized, and less regret, than none."""
    found, _ = experiment.tally(200, "hopeful", library, classes)
    by_name = {one.name: one for one in found}
    assert by_name["rank + 3 ask"].under <= by_name["rank"].under
    assert by_name["rank + 3 ask"].regret < by_name["rank"].regret


def test_the_same_customers_come_again(experiment):
    """The invented customers are the same at every run, and what they say holds what is so in the plain world."""
    first, second = (list(experiment.customers(20, "plain")) for _ in range(2))
    assert first == second
    for one in first:
        cut, so = one.said.tasks[0], one.settled.tasks[0]
        assert cut.stem_m.low <= so.stem_m.low <= cut.stem_m.high
