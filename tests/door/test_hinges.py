"""What a pick hangs on and what to ask first, as `rank` and `ask` say them of one sheet."""

import csv
import re
from importlib import resources

import pytest

import evener
from evener.cli.output import words
from evener.scoring.questions.open_work import OF_THE_WORK

SHEET = """
[place]
name = "Thorn Flat"
slope = "3 %"

[[place.land]]
use = "hay"
area = "20 ac"

[[task]]
name = "Cut back the scrub"
family = "rotary cutter"
width = "6 ft"
stems = "1 to 3 in"
hours = 20
"""


@pytest.mark.parametrize("more", ["", '[policy]\nrule = "sure"\nunits = "si"\n'], ids=["cost", "sure"])
def test_rank_asks_first_what_ask_asks_first(library_store, tmp_path, more):
    """Whatever the rule, a ranking asks first what is the first question of its survey, with the same picks."""
    (tmp_path / "job.toml").write_text(SHEET + more)
    store = evener.open(library_store)
    job = store.read_job(tmp_path / "job.toml")
    first = next(one for one in store.ask(job).questions if one.worth_asking)
    ranked = store.rank(job)
    asked = ranked.choice.measure
    assert (asked.id, asked.question, asked.chance) == (first.id, first.question, first.chance_changes_pick)
    assert {band.tractor_id for band in asked.bands} == {part.pick for part in first.picks}
    hanging = ranked.to_dict(job.policy.units)["choice"]["hangs_on"]
    apart = [max(powers) / min(powers) for powers in ([band["pto_power"] for band in one["bands"]] for one in hanging)]
    assert apart == sorted(apart, reverse=True)
    assert all(" if " in words.hinge(one) for one in hanging)


def test_a_size_is_said_with_what_has_to_be_so():
    """A hinge reads as a customer says it: the size, and after "if" the work that asks for it."""
    bands = [("utility-40", 40.0, "nothing thicker than 2 in is cut"), ("utility-75", 75.0, "stems reach 2 in")]
    one = {
        "task": "Cut",
        "bands": [
            {"tractor_id": name, "pto_power": power, "unit": "hp", "when": when, "or_else": []}
            for name, power, when in bands
        ],
    }
    said = "Cut: 40 hp if nothing thicker than 2 in is cut; 75 hp if stems reach 2 in"
    assert words.hinge(one) == said
    assert words.hinges([one, one], "utility-40") == f"{said}; Cut: 75 hp if stems reach 2 in"


def test_every_question_has_the_words_that_stand_after_if(library):
    """What can be asked has phrases for its answers, with nothing in them that is not filled in."""
    text = resources.files("evener.scoring.questions").joinpath("phrases.csv").read_text(encoding="utf-8")
    rows = {(row["quantity"], row["family"]): row for row in csv.DictReader(text.splitlines())}
    kinds = ("first", "further", "only", "yes", "no", "word")
    told = {quantity for (quantity, _), row in rows.items() if any(row[kind] for kind in kinds)}
    for_hours_alone = {"area_ha", "hours_h"}
    assert {row["quantity"] for row in library.tables["question"]} - for_hours_alone <= told
    assert told >= OF_THE_WORK
    gaps = {row["rule"] for row in library.tables["reconcile"] if row["family"]}
    assert gaps == {family for quantity, family in rows if quantity == "gap" and family}
    filled = {name for row in rows.values() for kind in kinds for name in re.findall(r"{(\w+)}", row[kind])}
    assert filled <= {"low", "high", "answer", "implement", "land"}
