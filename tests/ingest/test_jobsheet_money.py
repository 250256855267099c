"""What a job sheet may say of money, and what it is told when two sums cannot be of one currency."""

from __future__ import annotations

import pytest

from evener.ingest.jobsheet.reading import read_jobsheet_text
from evener.ingest.jobsheet.rules import UNSAID_CHANCE
from evener.ingest.jobsheet.text import write_jobsheet
from evener.ingest.jobsheet.words import Vocabulary
from evener.schema.money import Money, Rate

WORDS = Vocabulary(
    {"rotary_cutter": ("Rotary cutter",), "disc_mower": ("Disc mower",), "round_baler": ("Round baler",)},
    implements={"rotary-cutter-11": "rotary_cutter"},
)
SHEET = '[place]\nname = "Hollow"\n[[task]]\nname = "Top"\nimplement = "rotary-cutter-11"\n'
SAID = """
[policy]
years = "6 years"
interest = "4 %"
wage = "25 an hour"
year = 2027
[prices]
currency = "USD"
fuel = "4.20 per gal"
tractors = { "40 hp" = "$38,000", "75 hp" = 60000 }
machines = { "disc mower" = "9,000" }
[hire]
call_out = "$150"
markup = 1.5
rates = { "disc mower" = "$17 / acre", "round baler" = "14 per bale", "rotary cutter" = "85 an hour" }
"""


def read(text):
    job, findings = read_jobsheet_text(SHEET + text, WORDS)
    assert job is not None, [(one.row, one.message) for one in findings]
    return job


def mistakes(text):
    return [(one.id, one.row) for one in read_jobsheet_text(SHEET + text, WORDS)[1]]


def test_terms_prices_and_rates_are_read_in_one_unit_each():
    """Years, shares, hourly sums, prices with signs and thousands, rates by the gallon, acre, bale and hour."""
    money = read(SAID).money
    assert money.currency == "USD"
    assert {name: money.terms[name] for name in ("years", "interest", "wage", "year_zero")} == {
        "years": 6.0,
        "interest": pytest.approx(0.04),
        "wage": 25.0,
        "year_zero": 2027.0,
    }
    assert money.terms["fuel_price"] == pytest.approx(4.20 / 3.785411784)
    assert money.tractors == ((pytest.approx(29.828, abs=1e-3), 38000.0), (pytest.approx(55.927, abs=1e-3), 60000.0))
    assert money.machines == {"disc_mower": 9000.0}
    assert money.hire == {
        "disc_mower": Rate(pytest.approx(17 / 0.40468564224), "ha"),
        "round_baler": Rate(14.0, "bale"),
        "rotary_cutter": Rate(85.0, "h"),
    }
    assert (money.terms["call_out"], money.terms["hire_markup"]) == (150.0, 1.5)


def test_a_sheet_that_says_nothing_of_money_states_nothing():
    """What is left out stays out, for the tables to fill in and the answer to say so."""
    assert read("").money == Money()


def test_money_is_written_and_read_back():
    """The text written of a sheet holds the same prices, rates and terms."""
    job = read(SAID)
    again, findings = read_jobsheet_text(write_jobsheet(job), WORDS)
    assert findings == []
    assert again.money.terms == pytest.approx(job.money.terms)
    assert dict(again.money.tractors) == dict(job.money.tractors)
    assert (again.money.machines, again.money.currency) == (job.money.machines, job.money.currency)
    assert again.money.hire["disc_mower"].amount == pytest.approx(job.money.hire["disc_mower"].amount)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('[prices]\ncurrency = "EUR"\nmachines = { "disc mower" = "$9000" }\n', [("sheet-currency", 8)]),
        ('[prices]\nmachines = { "disc mower" = "€9000", "round baler" = "$9000" }\n', [("sheet-currency", 7)]),
        ('[prices]\nfuel = "4.20"\n', [("sheet-value", 7)]),
        ('[prices]\nfuel = "4.20 per bale"\n', [("sheet-unit", 7)]),
        ('[prices]\ntractors = { "40" = 38000 }\n', [("sheet-value", 7)]),
        ('[prices]\ntractors = { "40 hp" = -5 }\n', [("sheet-value", 7)]),
        ("[prices]\ntractors = 38000\n", [("sheet-type", 7)]),
        ('[hire]\nrates = { "disc mower" = "17 per load" }\n', [("sheet-unit", 7)]),
        ('[hire]\nrates = { "disc mover" = "17 per acre" }\n', [("sheet-family", 7)]),
        ('[policy]\nyears = "some"\n', [("sheet-value", 7)]),
        ("[policy]\nyears = 90\n", [("sheet-bounds", 7)]),
        ('[policy]\nrule = "luck"\n', [("sheet-word", 7)]),
        ("[hire]\nprice = 4\n", [("sheet-unknown-key", 7)]),
    ],
)
def test_each_mistake_in_money_is_one_finding(text, expected):
    """A sum of another currency, a rate by nothing, a price that is none: each is told once, with its line."""
    assert mistakes(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[policy]\nreserve_power = 0.2\nreserve_lift = 0.1\n", [("sheet-reserve", 7), ("sheet-reserve", 8)]),
        ("[policy]\nconfidence = 0.9\n", [("sheet-confidence", 7)]),
        ('[policy]\nrule = "sure"\nconfidence = 0.9\n', []),
    ],
)
def test_keys_that_act_no_longer_are_read_with_a_remark(text, expected):
    """Old reserves, and a confidence that no rule uses, refuse nothing and change nothing; the sheet is told so."""
    job, findings = read_jobsheet_text(SHEET + text, WORDS)
    assert job is not None
    assert [(one.id, one.row) for one in findings] == expected
    assert not any(one.refuses for one in findings)


def test_a_plan_without_a_chance_has_a_half(library):
    """The sheet is told so, whether it says planned or a year, and the half is the one of the policy table."""
    for said in ('when = "planned"', "year = 2030"):
        job, findings = read_jobsheet_text(f"{SHEET}{said}\n", WORDS)
        assert [one.id for one in findings] == ["sheet-plan-unsaid"]
        assert job.tasks[0].planned
    assert job.tasks[0].chance == UNSAID_CHANCE == library.row("policy", what="plan_chance")["typical"]
