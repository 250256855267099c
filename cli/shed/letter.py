"""`evener letter`: one page to one member, in his units."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli import handing
from evener.cli.options import Handed, Out, Readable, Replace, Store, UnitChoice
from evener.cli.output import render
from evener.cli.shed.assign import Rule
from evener.cli.shed.opening import ShedFolder, undisturbed, units_of, usable
from evener.cli.store.opened import opened


def run(
    shed: ShedFolder,
    owner: Annotated[str, typer.Argument(metavar="OWNER", help="Name of a member.", show_default=False)],
    rule: Annotated[Rule, typer.Option(help="Rule of fairness the dates follow.")] = Rule.own_first,
    output: Handed = Readable.table,
    out: Out = None,
    replace: Replace = False,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Write to a member: his figures used and assumed, what falls short and its remedies, whom to ask and when."""
    path = opened(store).path
    handing.check(output, out, path, replace=replace)
    with undisturbed():
        answer = usable(shed, path).letter(owner, rule=rule.value)
    shown = units_of(units, output, answer.units)
    if output is Readable.json:
        render.json_out(answer.to_dict(shown))
    elif output is Readable.csv:
        render.csv_out(answer.rows(shown))
    else:
        said = answer.to_dict(shown)
        handing.hand(lambda page: fill(page, said), output, out, path, over="A letter to a member", replace=replace)
    return 1 if answer.undone else 0


def fill(page: render.Page, answer: dict[str, Any]) -> None:
    """Put a letter on a page."""
    page.title(f"{answer['shed']}, to {answer['member']}")
    if answer["figures"]:
        page.heading("What was used of yours; say so where it is wrong, and the answer is worked out anew")
        page.bullets(_figures(answer["figures"]))
    if answer["appeals"]:
        page.heading("Read or weigh these, and an answer may change")
        page.bullets(answer["appeals"])
    if answer["visits"]:
        page.heading("Your work")
        page.table(
            ["task", "when", "tractor", "machine", "ask"],
            [_visit(one, one["task"]) for one in answer["visits"]],
        )
    if answer["undone"]:
        page.heading("Left undone")
        page.bullets(answer["undone"])
    if answer["shortfalls"]:
        page.heading("What yours does not do by itself, and three ways out, the cheapest first")
        for one in answer["shortfalls"]:
            page.lead(f"{one['task']}: {one['own']}")
            page.bullets(remedy["says"] for remedy in one["remedies"])
    if answer["lent"]:
        page.heading("Where yours goes")
        page.table(
            ["for", "when", "tractor", "machine"],
            [_visit(one, f"{one['member']}: {one['task']}")[:4] for one in answer["lent"]],
        )
    page.heading("Hours")
    before, after = (_owed(answer[key]) for key in ("owed_before_h", "owed_after_h"))
    page.facts([("before", f"{before}; after the season {after}")])
    page.lead(
        "This is advice from figures. Rollover protection, guards, ballast, brakes and the law of the road come first, "
        "and the operator's manual before all of it."
    )


def _owed(hours: float) -> str:
    if round(hours) == 0:
        return "nobody owes anything"
    return f"{hours:.0f} h are owed to you" if hours > 0 else f"you owe {-hours:.0f} h"


def _figures(figures: list[dict[str, Any]]) -> list[str]:
    by_thing: dict[str, list[str]] = {}
    for one in figures:
        said = f"{one['figure']} {one['used']}" if one["used"] is not None else f"{one['figure']} not stated, assumed"
        said += " (estimated)" if one["used"] is not None and one["assumed"] else ""
        by_thing.setdefault(one["thing"], []).append(said)
    return [f"{thing}: {', '.join(said)}" for thing, said in by_thing.items()]


def _visit(one: dict[str, Any], name: str) -> list[str]:
    late = ", late" if one["late"] else ""
    return [name, f"{one['days']}{late}", one["tractor"], one["machine"], " and ".join(one["ask"])]
