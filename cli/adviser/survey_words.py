"""Picks, answers and gaps of a survey in words."""

from __future__ import annotations

from typing import Any

from evener.cli.output import render, words


def describe(pick: dict[str, Any]) -> str:
    """Return a pick as people say it: its power, label and id; or that nothing meets the work."""
    if pick["pick"] is None:
        return "nothing that is listed meets the work"
    power = f"{words.quantity(pick['pto_power'], pick['unit'])} at the PTO: " if pick["pto_power"] is not None else ""
    return f"{power}{pick['label']} ({pick['pick']})"


def by_answer(one: dict[str, Any]) -> str:
    """Return a question's picks by answer on one line."""
    return "; ".join(f"{part['answer']}: {_short(part)}" for part in one["picks"])


def _short(pick: dict[str, Any]) -> str:
    if pick["pick"] is None:
        return "none meets it"
    return f"{words.quantity(pick['pto_power'], pick['unit'])} {pick['pick']}" if pick["pto_power"] else pick["pick"]


def nothing_left(answer: dict[str, Any]) -> str:
    """Return that no question is left that could change the pick, and what still could."""
    if answer["not_sized"]:
        return "Nothing else you could ask about these tasks would change this."
    if answer["reconcile"]:
        return "Nothing you could ask about these tasks would change this; but see whether the place adds up."
    return "Nothing you could ask would change this."


def gaps(page: render.Page, answer: dict[str, Any]) -> None:
    """Add what to ask about the place as a whole."""
    if not answer["reconcile"]:
        return
    page.heading("Work the place may have that the sheet does not name; none of it is counted")
    page.bullets(
        f"{one['question']} {words.percent(one['chance'])} likely{_then(one, answer)}" for one in answer["reconcile"]
    )
    page.lead("These percentages are our estimates, not counts.")


def _then(one: dict[str, Any], answer: dict[str, Any]) -> str:
    if one["family"] is None or one["pick_if_so"] == answer["so_far"]["pick"]:
        return ""
    family = one["family"].replace("_", " ")
    if one["pick_if_so"] is None:
        return f"; with a usual {family} no listed tractor is enough"
    return f"; with a usual {family} the pick is {one['pick_if_so']}"
