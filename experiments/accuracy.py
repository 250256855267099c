"""Write docs/accuracy.md, and its sentence in the README, from what the casebook and the decision world last came to.

Run: python -m experiments.accuracy. To bring it up to date after a change of sizing, run first
python -m experiments.casebook --keep, and python -m experiments.decision_world --keep, which takes minutes.
"""

from __future__ import annotations

import csv
import textwrap
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path

from experiments.casebook.cases import TELLINGS, Case, Telling, cases
from experiments.casebook.causes import causes
from experiments.casebook.judging import Judged, Tally, kept, tally
from experiments.decision_world import losses, reckoning, stability
from experiments.decision_world.bound import BOUND
from experiments.decision_world.by_tool import QUESTIONS
from experiments.decision_world.needs import people
from experiments.decision_world.reckoning import percent
from experiments.decision_world.rules_of_thumb import MEAN_MORE, RATING_MORE

ROOT = Path(__file__).resolve().parents[1]
OUTSIDE = ROOT / "tests" / "outside"
BEGINS, NAMED = "How right it is: ", "`docs/accuracy.md`."
WIDTH = 150
AIMS: dict[Telling, tuple[str, str, str]] = {
    "said": ("82 %", "0.88 to 1.10", "82 %"),
    "told": ("85 %", "0.88 to 1.10", "85 %"),
}
SHORT_AIM = "5 %"
PEOPLE = {
    "A": "People who gear down on the hill and take longer",
    "B": "People who do not, and want the power on the steepest ground",
}


def sentence() -> str:
    """Return the one sentence that the README has of this page."""
    said, told = _tallies()
    kept = [one for one in reckoning.kept_tallies() if one.group == "all"]
    share = {
        people: lost["rank"] / lost[RATING_MORE]
        for people in PEOPLE
        if (lost := {one.rule: one.lost for one in kept if one.people == people})
    }
    return (
        f"of {len(cases())} jobs whose tractor is published or customary the pick fits {percent(said.met)} as customers"
        f" say them and {percent(told.met)} told in full; in an invented world a pick loses {share['A']:.2f} times what"
        f' the rule of thumb "rating x 1.15" loses where people gear down on the hill, and {share["B"]:.2f} times where'
        " they do not."
    )


def page() -> str:
    """Return the page."""
    parts = [
        OPENING,
        f"In one line: {sentence()}",
        _in_short(),
        _missed(),
        _trade(),
        _world(),
        _losses(),
        _chances(),
        _met(),
        ENDING,
    ]
    return "\n\n".join(part.strip() for part in parts) + "\n"


OPENING = """# How right is it?

Written by `python -m experiments.accuracy` from results that are kept beside the cases and run again by a test;
what is missed comes first. Cases are what universities, extension services, advisers, owners and the custom of
the trade say a job needs, none of it fitted on; our own results are never a reference. Powers are hp at the
PTO."""

ENDING = """## What this does not show

A case is one source's opinion of a job told in a line; some bands look wrong, say so in their note, and count
all the same. The world's needs and prices are customs of the trade in round numbers: the order of the ways of
choosing is worth more than the sums. `experiments/casebook/README.md` and
`experiments/decision_world/README.md` say how both are made."""


def _tallies() -> tuple[Tally, Tally]:
    results = kept()
    said, told = (tally(cases(), [one for one in results if one.telling == telling]) for telling in TELLINGS)
    return said, told


def _in_short() -> str:
    lines = ["## In short", ""]
    said, told = _tallies()
    rows = [
        ("picks that fit", percent(said.met), AIMS["said"][2], percent(told.met), AIMS["told"][2]),
        (
            "asked where the source has it",
            percent(said.asked_met),
            AIMS["said"][0],
            percent(told.asked_met),
            AIMS["told"][0],
        ),
        (
            "asked over the middle of the band",
            f"{said.ratio:.2f}",
            AIMS["said"][1],
            f"{told.ratio:.2f}",
            AIMS["told"][1],
        ),
        ("picks more than one size under", percent(said.short), SHORT_AIM, percent(told.short), SHORT_AIM),
        ("no pick", percent(said.no_plan), "0 %", percent(told.no_plan), "0 %"),
    ]
    lines += _table(("61 cases", "as said", "aim", "told", "aim"), rows, right=4)
    found = reckoning.kept_tallies()
    rows = []
    for group, rule, words in (
        ("all", "rank", "as said"),
        ("asked", f"rank, {QUESTIONS[1]} asked", f"after {QUESTIONS[1]} questions"),
        ("all", "rank, all told", "told in full"),
        ("all", BOUND, "the bound"),
    ):
        for who in people():
            of = {one.rule: one for one in found if (one.group, one.people) == (group, who.kind)}
            pick = of.get(rule)
            if pick is not None:
                ratios = [f"{pick.lost / of[other].lost:.2f}" for other in (RATING_MORE, MEAN_MORE)]
                ratios.append(percent((of[MEAN_MORE].lost - pick.lost) / (of[MEAN_MORE].lost - of[BOUND].lost)))
                shares = (percent(share) for share in (pick.unsafe, pick.short, pick.large))
                rows.append((f"{words}, people {who.kind}", *ratios, *shares))
    heads = (
        "invented world: loss over that of",
        RATING_MORE,
        MEAN_MORE,
        "way from there to the bound",
        "unsafe",
        "over one short",
        "over one large",
    )
    aim = ("aim as said (told)", "0.80", "0.92 (0.75)", "50 % after 3", "5 %", "10 %", "15 %")
    return "\n".join([*lines, "", *_table(heads, [*rows, aim], right=6)])


def _missed() -> str:
    why = causes()
    results = [one for one in kept() if one.verdict != "met"]
    rows = [(*_row(one), why[one.case_id, one.telling][1]) for one in results]
    return "\n".join(
        [f"## Cases missed ({len(rows)} of {len(kept())} sheets)", "", *_table((*HEADS, "why"), rows, right=0)]
    )


def _met() -> str:
    rows = [_row(one) for one in kept() if one.verdict == "met"]
    return "\n".join([f"## Cases met ({len(rows)} of {len(kept())} sheets)", "", *_table(HEADS, rows, right=0)])


HEADS = ("case", "sheet", "job", "the source says", "band", "asked", "pick", "verdict", "source")


def _row(one: Judged) -> tuple[str, ...]:
    case = next(case for case in cases() if case.case_id == one.case_id)
    asked = "" if one.asked_hp is None else f"{one.asked_hp:.0f}"
    off = "" if one.asked_hp is None or one.asked_met(case) else ", asked is off"
    pick = "" if one.pick is None else f"{one.pick} ({one.pick_hp:.0f})"
    band = f"{case.low_hp:.0f} to {case.high_hp:.0f}"
    return (case.case_id, one.telling, case.job, case.says, band, asked, pick, f"{one.verdict}{off}", _source(case))


def _source(case: Case) -> str:
    parts = [part for part in (case.source, case.institution, case.year) if part not in {"-", "n/a"}]
    note = f"; {case.note}" if case.note else ""
    return f"{', '.join(parts)} ({case.status}{'' if case.grade == '-' else ', grade ' + case.grade}){note}"


def _trade() -> str:
    with (OUTSIDE / "missed.csv").open(encoding="utf-8", newline="") as file:
        missed = {(row["kind"], row["id"]): row["cause"] for row in csv.DictReader(file)}
    lines = ["## What the trade says, and printed examples as job sheets", ""]
    facts = _entries("trade_facts.toml", "fact")
    rows = [(one["says"], "{} to {}".format(*one["pick_hp"]), *_how(missed, "fact", one)) for one in facts]
    lines += _table(("common practice, no source", "pick that agrees", "", "why"), _misses_first(rows), right=0)
    examples = _entries("worked_examples.toml", "example")
    rows = [
        (f"{one['id']}: {one['source']}; {one['note']}", f"{one['prints_hp']:g}", *_how(missed, "example", one))
        for one in examples
    ]
    heads = ("printed example, asked between 0.85 and 1.3 of it", "prints", "", "why")
    return "\n".join([*lines, "", *_table(heads, _misses_first(rows), right=0)])


def _entries(name: str, kind: str) -> list[dict[str, object]]:
    return list(tomllib.loads((OUTSIDE / name).read_text(encoding="utf-8"))[kind])


def _how(missed: dict[tuple[str, str], str], kind: str, one: dict[str, object]) -> tuple[str, str]:
    cause = missed.get((kind, str(one["id"])))
    return ("met", "") if cause is None else ("missed", cause)


def _misses_first(rows: Iterable[tuple[str, ...]]) -> list[tuple[str, ...]]:
    return sorted(rows, key=lambda row: row[2] == "met")


def _world() -> str:
    lines = ["## The decision world", "", WORLD]
    found = reckoning.kept_tallies()
    for group, words in (("all", "all customers"), ("asked", "the customers who were asked")):
        for who in people():
            some = [one for one in found if (one.group, one.people) == (group, who.kind)]
            if some:
                heading = f"**{PEOPLE[who.kind]}**, {words} ({some[0].customers}):"
                lines += ["", heading, "", reckoning.table(some, RATING_MORE)]
    lasting = stability.kept()
    lines += [
        "",
        STABLE.format(
            customers=lasting.customers,
            sets=lasting.sets,
            same=percent(lasting.same),
            spread=f"{100 * lasting.spread:.1f} %",
        ),
    ]
    return "\n".join(lines)


STABLE = """On {sets} other sets of draws {same} of the picks for {customers} customers stay the same, and what
they cost on the average varies by {spread}."""
WORLD = """Invented customers, ground, machines and money, none of it by this project's models, fixed before anything
was tried there. *Lost* is what a choice costs over eight years more than the best class for that customer would;
sizes are counted against the smallest class that does everything that comes."""


def _losses() -> str:
    """Return what the loss is made of: the causes that make most of it."""
    rows = [
        (f"{one.telling}, people {one.people}", one.cause, percent(one.share), percent(one.customers))
        for one in losses.kept()
        if one.share >= LEAST_SHARE
    ]
    heads = ("sheet", "what kept the best class from being picked", "of the loss", "of customers")
    return "\n".join(["## Where the loss comes from", "", LOSSES, "", *_table(heads, rows, right=2)])


LEAST_SHARE = 0.05
LOSSES = """By `python -m experiments.decision_world.losses`: where a pick is larger than the best class of that
world, what this tool says that class is short of; where it is smaller, what the world says the pick does not do. In
equal parts where there are several; causes under 5 % are left out. World and tool differ on purpose in some of it:
two driven wheels are offered on easy ground alone, a load is lifted at its reach, and work that is listed is worth
three times what the tractor that does it costs more a year."""


def _chances() -> str:
    return f"""## Are the chances that `ask` prints true?

Of the questions on the sheet as said that the customer can answer: how often the answer, by itself, changed the size
picked, over several truths behind each sheet (`python -m experiments.decision_world.calibration`). The world's
customers differ from what the tool takes for usual, so that this tries both; the aim is 7 points in every row. Where
few questions fall in a row, chance alone is as much.

{reckoning.decile_table(reckoning.kept_deciles())}"""


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]], *, right: int) -> list[str]:
    """Return a Markdown table; the last columns, so many, are numbers."""
    marks = ["---"] * (len(heads) - right) + ["---:"] * right
    return [f"| {' | '.join(cells)} |" for cells in (heads, marks, *rows)]


def main() -> None:
    """Write the page, and its sentence into the README."""
    (ROOT / "docs" / "accuracy.md").write_text(page(), encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    before, _, after = readme.partition(BEGINS)
    _, page_named, rest = after.partition(NAMED)
    line = textwrap.fill(f"{BEGINS}{sentence()} What is missed, and why: {page_named}", WIDTH)
    (ROOT / "README.md").write_text(f"{before}{line}{rest}", encoding="utf-8")


if __name__ == "__main__":
    main()
