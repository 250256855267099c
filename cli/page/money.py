"""What the choice costs in a year and what the wrong size would cost, in sentences, where money is reckoned."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from evener.cli.output import words
from evener.cli.page import plain

MOST_FAILING = 2


def total(amount: float) -> str:
    """Return money to two or three figures."""
    return f"{round(amount, -2 if abs(amount) >= 1000 else -1):,.0f}"


def size(one: Mapping[str, Any]) -> str:
    """Return a tractor by its power."""
    return words.quantity(one["pto_power"], one["unit"])


def why(choice: Mapping[str, Any]) -> Iterator[str]:
    """Say what decides, and how often the choice does it all."""
    down, pick = choice["down"], choice["pick"]
    named = [one for one in down["fails"] if not one["gap"]] if down is not None else []
    if named:
        first = max(named, key=lambda one: (one["listed"], one["share"]))
        own = next((one["share"] for one in pick["fails"] if one["task"] == first["task"]), 0.0)
        yield (
            f"{first['task']} decides: one size smaller, {size(down)}, does it {plain.cases(1 - first['share'])}, "
            f"this one {plain.cases(1 - own)}."
        )
    else:
        yield "It costs least, and no smaller size fails any of the work that was named."
    yield f"It does everything that may come {plain.cases(pick['does_all'])}.{_missed(pick, ' The rest is hired: ')}"


def _missed(one: Mapping[str, Any], lead: str) -> str:
    named = [each for each in one["fails"] if not each["gap"]]
    if not named:
        return ""
    more = ", and less often other work" if len(named) > MOST_FAILING else ""
    said = [f"{each['task']} {plain.cases(each['share'])}" for each in named[:MOST_FAILING]]
    return f"{lead}{plain.joined(said)}{more}."


def wrong_size(choice: Mapping[str, Any]) -> Iterator[str]:
    """Say what one size down and one size up cost, and what they do."""
    pick = choice["pick"]
    for name, other in (("smaller", choice["down"]), ("larger", choice["up"])):
        if other is not None:
            more = other["a_year"] - pick["a_year"]
            dearer = f"{total(more)} a year more" if more >= 0 else f"{total(-more)} a year less, and is not the choice"
            yield (
                f"One size {name}, {size(other)}, costs about {dearer}; it does everything "
                f"{plain.cases(other['does_all'])}.{_missed(other, ' It falls short at ')}"
            )


def sentences(choice: Mapping[str, Any]) -> Iterator[str]:
    """Say what the choice costs to buy and in a year, what hiring all costs, and when another size pays."""
    pick, currency = choice["pick"], choice["currency"]
    basis = " (prices of custom: an order of magnitude)" if choice["custom"] else ""
    yield (
        f"About {total(pick['price'])} {currency} to buy, and about {total(pick['a_year'])} a year kept "
        f"{choice['years']:g} years, with what is hired{basis}. In a bad year up to {total(pick['worst'])}."
    )
    yield f"To buy nothing and hire all of it: about {total(choice['hire_all'])} a year."
    sizes = {one["tractor_id"]: one for one in (choice["down"], choice["up"]) if one is not None}
    for one in choice["break_evens"]:
        other = sizes[one["other"]]
        larger = other is choice["up"]
        if one["task"] is not None:
            bound = "more" if larger else "less"
            yield f"{size(other)} pays if {one['task']} is {bound} than {words.percent(one['chance'])} likely."
        else:
            kept = "longer" if one["years"] > choice["years"] else "shorter"
            yield f"{size(other)} pays if it is kept {kept} than about {one['years']:.0f} years."


def hangs_on(choice: Mapping[str, Any]) -> Iterator[str]:
    """Say which answers decide, and the size by answer."""
    for one in choice["hangs_on"]:
        saved = one["worth_a_year"] or 0.0
        worth = f" Knowing it is worth about {total(saved)} a year." if saved >= 1 else ""
        yield f"{plain.sentence(words.hinge(one))}.{worth}"
