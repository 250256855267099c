"""`evener letter`: one page to one member, in his units."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from evener.cli.options import Format, Output, Store, UnitChoice
from evener.cli.output import render
from evener.cli.shed.assign import Rule
from evener.cli.shed.opening import ShedFolder, undisturbed, units_of, usable


def run(
    shed: ShedFolder,
    owner: Annotated[str, typer.Argument(metavar="OWNER", help="Name of a member.", show_default=False)],
    rule: Annotated[Rule, typer.Option(help="Rule of fairness the dates follow.")] = Rule.own_first,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> int:
    """Write to a member: his figures used and assumed, what falls short and its remedies, whom to ask and when."""
    with undisturbed():
        answer = usable(shed, store).letter(owner, rule=rule.value)
    shown = units_of(units, output, answer.units)
    if output is Format.json:
        render.json_out(answer.to_dict(shown))
    elif output is Format.csv:
        render.csv_out(answer.rows(shown))
    else:
        _page(answer.to_dict(shown), markdown=output is Format.markdown)
    return 1 if answer.undone else 0


def _page(answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
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
    page.facts(
        [("owed to you", f"{answer['owed_before_h']:.0f} h before, {answer['owed_after_h']:.0f} h after the season")]
    )
    page.lead(
        "This is advice from figures. Rollover protection, guards, ballast, brakes and the law of the road come first, "
        "and the operator's manual before all of it."
    )
    page.show()


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
