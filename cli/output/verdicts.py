"""What an answer comes to, in a line or two: what to buy, or that hiring or another kind of tractor is the answer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evener.cli.output import words

BUY, HIRE_RATHER, HIRE_ALL, NONE_DOES, DOES_LITTLE = "buy", "hire rather", "hire all", "none does", "does little"
NO_TRACTOR = (HIRE_ALL, NONE_DOES)
# What to look for where a limit of the place leaves nothing that is listed, by how the limit is said.
OF_LIMITS = (
    ("no wider than the gate", "narrow enough", "a narrow (vineyard, orchard) tractor"),
    ("no higher than the shed", "low enough", "a low one, or a frame that folds"),
)


def lead(answer: Mapping[str, Any]) -> list[str]:
    """Return what an answer comes to.

    Parameters
    ----------
    answer : what `rank` says, in the reader's units, with a choice in it
    """
    chosen, said = answer["choice"], answer["verdict"]
    kind, hire, pick = said["kind"], words.money(chosen["hire_all"]), chosen["pick"]
    if kind == NONE_DOES:
        beside = " as far as it is for hire" if chosen["not_for_hire"] else ""
        return [f"No size listed does any of this: hire it{beside}, {hire} a year"]
    if kind == HIRE_ALL:
        return [f"Hire it all: {hire} a year, and no tractor costs less", _owned(said)]
    if kind == HIRE_RATHER:
        what = "what is counted" if answer["not_sized"] else "the rest" if _there(chosen) else "all"
        dear = words.money(pick["a_year"])
        return [
            f"Hiring {what} costs {hire} a year, buying {dear}: buy only to have it at hand",
            f"If you buy: {_what(answer, pick)}",
        ]
    if kind == DOES_LITTLE:
        return _little(answer, said, pick)
    return [_buy(answer, pick)]


def size(one: Mapping[str, Any]) -> str:
    """Return a tractor by its power at the PTO."""
    return words.quantity(one["pto_power"], one["unit"])


def _buy(answer: Mapping[str, Any], pick: Mapping[str, Any]) -> str:
    what = _what(answer, pick)
    return what[:1].upper() + what[1:] if what.startswith(("at least", "take")) else f"Buy {what}"


def _what(answer: Mapping[str, Any], pick: Mapping[str, Any]) -> str:
    """Return the size to buy; a unit that is for sale by its id."""
    first = next((one for one in answer["tractors"] if one["tractor_id"] == pick["tractor_id"]), None)
    if first is not None and first["kind"] != "class":
        return f"take {pick['tractor_id']}: {pick['label']}; {size(pick)} at the PTO"
    return f"{'at least' if answer['not_sized'] else 'about'} {size(pick)} at the PTO: {pick['label']}"


def _there(chosen: Mapping[str, Any]) -> bool:
    return any(one["by"] in {"there", "claimed"} for one in chosen["arrangement"])


def _owned(said: Mapping[str, Any]) -> str:
    one = said["owned"]
    if one is None:
        return "No size listed would do all of it"
    return f"To do it yourself: about {size(one)} at the PTO, {words.money(one['a_year'])} a year: {one['label']}"


def _little(answer: Mapping[str, Any], said: Mapping[str, Any], pick: Mapping[str, Any]) -> list[str]:
    """Return that the pick does less than half of the work, and what would do more."""
    tasks = f"{said['does']} of {said['named']} tasks"
    alone = f"For {tasks} alone: {_what(answer, pick)}" if said["does"] else f"None of it pays: {_what(answer, pick)}"
    if said["left_out"] is None:
        return [alone]
    asked, more = size(said["left_out"]), said["left_out_does"] - said["does"]
    for limit, enough, look in OF_LIMITS:
        if said["filter"].startswith(limit):
            return [
                f"Nothing listed is {enough} for {more} of {said['named']} tasks: about {asked} is asked",
                f"Look for {look}",
                alone,
            ]
    return [f"{asked} does {said['left_out_does']} of {said['named']} tasks, and is left out: {said['filter']}", alone]
