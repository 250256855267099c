"""Picks, answers, worth and gaps of a survey in words."""

from __future__ import annotations

from collections import Counter
from typing import Any

from evener.cli.output import render, words

GAPS = "These percentages are our estimates, not counts."


def describe(pick: dict[str, Any]) -> str:
    """Return a pick as people say it: its power, label and id; or that no listed tractor is enough."""
    if pick["pick"] is None:
        return "no listed tractor is enough"
    power = f"{words.quantity(pick['pto_power'], pick['unit'])} at the PTO: " if pick["pto_power"] is not None else ""
    return f"{power}{pick['label']} ({pick['pick']})"


def by_answer(one: dict[str, Any]) -> str:
    """Return a question's picks by answer on one line; sizes alone where they tell the picks apart."""
    sizes = {part["pick"]: _size(part) for part in one["picks"]}
    alone = len(set(sizes.values())) == len(sizes)
    return "; ".join(f"{part['answer']}: {_short(part, alone=alone)}" for part in one["picks"])


def worth(one: dict[str, Any]) -> str:
    """Return how likely an answer changes the tractor, and what knowing it saves."""
    saves = "" if one["worth_a_year"] is None else f", worth {words.money(one['worth_a_year'])} a year"
    return f"{words.percent(one['chance_changes_pick'])} likely to change the tractor{saves}"


def what(one: dict[str, Any]) -> str:
    """Return what a question is about in as few words as its id has: "stems (cut-back-the-scrub)"."""
    where, _, name = one["id"].rpartition(".")
    return f"{name.replace('_', ' ')} ({where.rpartition('.')[2].replace('-', ' ')})"


def uncertain(answer: dict[str, Any]) -> str:
    """Return why some things stay uncertain whoever is asked, with how many there are of each."""
    found = Counter(one["why"] for one in answer["stays_uncertain"])
    return "; ".join(f"{why.partition(':')[0]} ({count})" for why, count in found.most_common())


def nothing_left(answer: dict[str, Any]) -> str:
    """Return that no question is left that is worth asking, and what still could be asked."""
    if answer["not_sized"]:
        return "Nothing else you could ask about these tasks would change this."
    can = [one for one in answer["questions"] if one["chance_changes_pick"] > 0]
    most = max(can, key=lambda one: (one["worth_a_year"] or 0, one["chance_changes_pick"]), default=None)
    if most is None:
        return "Nothing you could ask would change this."
    return f"Nothing is worth asking: the most would be {what(most)}, {worth(most)}."


def gaps(page: render.Page, answer: dict[str, Any]) -> None:
    """Add what to ask about the place as a whole that names no machine, and so no pick."""
    found = [one for one in answer["reconcile"] if one["family"] is None]
    if not found:
        return
    page.heading("Work the place may have that the sheet does not name; none of it is counted")
    page.bullets(f"{one['question']} {words.percent(one['chance'])} likely" for one in found)
    page.lead(GAPS)


def _short(pick: dict[str, Any], *, alone: bool) -> str:
    if pick["pick"] is None:
        return "no listed tractor is enough"
    named = _size(pick) if alone else f"{_size(pick)} {pick['pick']}".strip()
    return f"{named} or {', '.join(pick['or_else'])}, too near to tell" if pick["or_else"] else named


def _size(pick: dict[str, Any]) -> str:
    if pick["pick"] is None:
        return ""
    return words.quantity(pick["pto_power"], pick["unit"]) if pick["pto_power"] else str(pick["pick"])
