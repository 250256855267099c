"""The money on the first screen: one size down, the choice, one up, and what hiring all of it costs."""

from __future__ import annotations

from typing import Any

from evener.cli.output import words
from evener.cli.output.verdicts import HIRE_RATHER, NO_TRACTOR, size


def rows(answer: dict[str, Any]) -> list[str]:
    """Return a heading and a row by size; the choice is marked, and it is none where hiring all is the answer.

    Parameters
    ----------
    answer : what `rank` says, in the reader's units, with a choice in it
    """
    chosen, verdict = answer["choice"], answer["verdict"]
    header = f"  {'':<10}{'price':>9}{'a year':>9}{'does all':>10}  fails, or hires ({chosen['currency']})"
    if verdict["kind"] in NO_TRACTOR:
        hired = f"->{'none':<10}{words.money(0.0):>9}{words.money(chosen['hire_all']):>9}{'':>10}  all of it is hired"
        return [header, hired, *([_row(verdict["owned"])] if verdict["owned"] else [])]
    sizes = [one for one in (chosen["down"], chosen["pick"], chosen["up"]) if one is not None]
    return [header, *(_row(one, marked=one is chosen["pick"]) for one in sizes)]


def hire_all(answer: dict[str, Any]) -> tuple[str, str]:
    """Return what hiring all costs, as far as the heading has not said it, under a short name.

    Parameters
    ----------
    answer : what `rank` says, in the reader's units, with a choice in it
    """
    chosen = answer["choice"]
    basis = "prices by custom, rough" if chosen["custom"] else ""
    if answer["verdict"]["kind"] in {HIRE_RATHER, *NO_TRACTOR}:
        return "prices", basis.removeprefix("prices ")
    named = {one["task"] for one in chosen["arrangement"] if one["kind"] != "not named"}
    kept = [name for name in chosen["not_for_hire"] if name in named]
    if len(kept) == len(named):
        return "prices", basis.removeprefix("prices ")
    but = f" but {', '.join(kept)}, which is not for hire" if kept else ""
    said = f"{words.money(chosen['hire_all'])} a year{but or ', buying nothing'}"
    return "hire all", f"{said}; {basis}" if basis else said


def _row(one: dict[str, Any], *, marked: bool = False) -> str:
    sums = f"{words.money(one['price']):>9}{words.money(one['a_year']):>9}"
    return f"{'->' if marked else '  '}{size(one):<10}{sums}{words.percent(one['does_all']):>10}  {_fails(one)}"


def _fails(one: dict[str, Any]) -> str:
    if not one["fails"]:
        return "nothing"
    first, more = one["fails"][0], len(one["fails"]) - 1
    rest = f", {more} more" if more else ""
    return f"{first['task'][:26]} in {words.percent(first['share'])}{rest}"
